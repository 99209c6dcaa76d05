// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Influence.h"

#include <Eigen/Eigenvalues>

namespace trammel::adjust {
namespace {

using estimate::Gradient;
using estimate::Rows;

void gather(const Rows& row, double sigma, OwnerRows& g) {
    g.points.emplace_back(static_cast<int>(g.e.size()), row.components);
    for (int k = 0; k < row.components; ++k) {
        Gradient gradient;
        for (int i = 0; i < row.count; ++i) gradient.emplace_back(row.column[at(i)], row.J[at(k)][at(i)]);
        g.J.push_back(std::move(gradient));
        g.e.push_back(row.e[at(k)]);
        g.sigma.push_back(sigma);
    }
}

double sigmaOf(const Network& n, int owner, std::size_t row) {
    const Owner& o = n.owners()[at(owner)];
    switch (o.kind) {
        case Owner::Kind::Mark:
            return n.points()[row].sigma;
        case Owner::Kind::Reading:
            return find(n.survey().readings, o.object)->measured.sigma;
        case Owner::Kind::SquarePrior:
            return find(n.survey().stations, o.object)->squareSigma_rad;
        case Owner::Kind::CameraPrior:
            return 1.0;  // stated in units of its own σ
    }
    return 1.0;
}

}  // namespace

Influence::Influence(const Network& network, const estimate::CovarianceFactor& covariance)
    : network_(&network), covariance_(&covariance) {
    std::vector<Rows> rows;
    if (!network.linearise(rows, true)) return;
    const std::vector<int> owners = network.rowOwners();
    rows_.resize(network.owners().size());
    for (std::size_t r = 0; r < rows.size(); ++r)
        gather(rows[r], sigmaOf(network, owners[r], r), rows_[at(owners[r])]);
}

MatX Influence::C(int a, int b) const {
    const MatX& shifts = shift(a);
    MatX c(rows(a).size(), rows(b).size());
    for (Eigen::Index i = 0; i < c.rows(); ++i) c.row(i) = along(rows(b), shifts.col(i)).transpose();
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
