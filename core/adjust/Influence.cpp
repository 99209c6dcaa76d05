// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Influence.h"

#include <Eigen/Eigenvalues>
#include <algorithm>

namespace trammel::adjust {
namespace {

using estimate::Gradient;
using estimate::Rows;

void gather(const Rows& row, double sigma, OwnerRows& g) {
    g.points.emplace_back(static_cast<int>(g.e.size()), row.components);
    for (int k = 0; k < row.components; ++k) {
        Gradient gradient;
        gradient.reserve(at(row.count));
        for (int i = 0; i < row.count; ++i) gradient.emplace_back(row.column[at(i)], row.J[at(k)][at(i)]);
        g.J.push_back(std::move(gradient));
        g.e.push_back(row.e[at(k)]);
        g.sigma.push_back(sigma);
    }
}

}  // namespace

Influence::Influence(const Network& network, const estimate::CovarianceFactor& covariance)
    : network_(&network), covariance_(&covariance), joint_(covariance) {
    std::vector<Rows>& rows = network.workspace().rows;
    if (!network.linearise(rows, true)) return;
    const std::vector<int> owners = network.rowOwners();
    rows_.resize(network.owners().size());
    for (std::size_t r = 0; r < rows.size(); ++r)
        gather(rows[r], network.sigmaOfRow(r), rows_[at(owners[r])]);
    std::vector<int> first(rows_.size(), 0);
    for (std::size_t r = 0; r < rows.size(); ++r) {
        const int o = owners[r];
        if (r < network.points().size()) rows_[at(o)].station = network.points()[r].station;
        for (std::size_t i = 0; i < static_cast<std::size_t>(rows[r].count); ++i)
            first[at(o)] = i == 0 ? rows[r].column[i] : std::min(first[at(o)], rows[r].column[i]);
    }
    for (std::size_t o = 0; o < rows_.size(); ++o)
        if (!rows_[o].e.empty()) byFeature_.push_back(static_cast<int>(o));
    std::stable_sort(byFeature_.begin(), byFeature_.end(),
                     [&](int a, int b) { return first[at(a)] < first[at(b)]; });
}

MatX Influence::C(int a) const {
    const std::vector<Gradient>& J = rows(a).J;
    const estimate::Layout& layout = network_->layout();
    const auto& starts = layout.blockStart;
    std::vector<int>& columns = columns_;
    columns.clear();
    int block = -1;
    bool one = true;  // of the eliminated blocks the owner touches one at most
    const auto placeOf = [&](int column) {
        const auto it = std::find(columns.begin(), columns.end(), column);
        if (it != columns.end()) return it - columns.begin();
        columns.push_back(column);
        if (column < layout.eliminatedColumns) {
            const auto b =
                static_cast<int>(std::upper_bound(starts.begin(), starts.end(), column) - starts.begin());
            one = one && (block < 0 || block == b);
            block = b;
        }
        return static_cast<std::ptrdiff_t>(columns.size()) - 1;
    };
    std::size_t most = 0;
    for (const Gradient& g : J) most += g.size();
    MatX& dense = dense_;
    dense.setZero(static_cast<Eigen::Index>(most), rows(a).size());
    for (std::size_t c = 0; c < J.size(); ++c)
        for (const auto& [column, d] : J[c]) dense(placeOf(column), static_cast<Eigen::Index>(c)) += d;
    if (!one) return covariance_->covariance(J);
    joint_.of(columns, sigma_);
    const auto used = dense.topRows(static_cast<Eigen::Index>(columns.size()));
    MatX c(dense.cols(), dense.cols());
    for (Eigen::Index k = 0; k < c.cols(); ++k) {
        product_.noalias() = sigma_ * used.col(k);
        for (Eigen::Index i = 0; i <= k; ++i) c(i, k) = c(k, i) = used.col(i).dot(product_);
    }
    return c;
}

MatX Influence::C(int a, int b) const {
    const MatX& shifts = shift(a);
    const OwnerRows& other = rows(b);
    MatX c = MatX::Zero(rows(a).size(), other.size());
    for (Eigen::Index i = 0; i < c.rows(); ++i) {
        const double* column = shifts.col(i).data();
        for (Eigen::Index k = 0; k < c.cols(); ++k)
            for (const auto& [at, d] : other.J[static_cast<std::size_t>(k)])
                if (at >= 0) c(i, k) += d * column[at];
    }
    return c;
}

MatX Influence::Q(int a) const {
    const auto size = rows(a).size();
    return MatX::Identity(size, size) + (network_->owners()[at(a)].active ? -1.0 : 1.0) * C(a);
}

const MatX& Influence::shift(int owner) const {
    const auto known = shifts_.find(owner);
    if (known != shifts_.end()) return known->second;
    const OwnerRows& own = rows(owner);
    MatX s(network_->layout().columns, own.size());
    for (Eigen::Index i = 0; i < own.size(); ++i)
        s.col(i) = covariance_->times(own.J[static_cast<std::size_t>(i)]);
    return shifts_.emplace(owner, std::move(s)).first->second;
}

VecX along(const OwnerRows& rows, const VecX& v) {
    VecX out = VecX::Zero(rows.size());
    for (Eigen::Index i = 0; i < rows.size(); ++i)
        for (const auto& [column, d] : rows.J[static_cast<std::size_t>(i)])
            if (column >= 0) out[i] += d * v[column];
    return out;
}

MatX controlledInverse(const MatX& Q, int& rank, double least) {
    const Eigen::SelfAdjointEigenSolver<MatX> eigen(Q);
    MatX inverse = MatX::Zero(Q.rows(), Q.cols());
    rank = 0;
    for (Eigen::Index i = 0; i < Q.rows(); ++i)
        if (eigen.eigenvalues()[i] > least) {
            const VecX u = eigen.eigenvectors().col(i);
            inverse += u * u.transpose() / eigen.eigenvalues()[i];
            ++rank;
        }
    return inverse;
}

}  // namespace trammel::adjust
