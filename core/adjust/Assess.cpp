// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Assess.h"

#include <Eigen/Eigenvalues>
#include <cmath>
#include <limits>

#include "core/math/Statistics.h"

namespace trammel::adjust {
namespace {

using estimate::Gradient;
using estimate::Rows;

/// Redundancy under which a component is called uncontrolled: its residual says nothing.
constexpr double kUncontrolled = 1e-3;
/// δ0 of Baarda for α 0.001 and power 0.80.
constexpr double kDelta0 = 4.1321;

/// e' Q⁺ e over the controlled directions of Q, and how many there are.
double blockStatistic(const VecX& e, const MatX& Q, int& rank) {
    const Eigen::SelfAdjointEigenSolver<MatX> eigen(Q);
    const VecX along = eigen.eigenvectors().transpose() * e;
    double sum = 0.0;
    rank = 0;
    for (Eigen::Index i = 0; i < e.size(); ++i)
        if (eigen.eigenvalues()[i] > kUncontrolled) {
            sum += along[i] * along[i] / eigen.eigenvalues()[i];
            ++rank;
        }
    return sum;
}

/// Rows of one owner put together.
struct Gathered {
    std::vector<Gradient> gradients;
    std::vector<double> e, sigma;
    std::vector<std::pair<int, int>> points;  ///< first component and count of each row
};

void gather(const Rows& row, double sigma, Gathered& g) {
    g.points.emplace_back(static_cast<int>(g.e.size()), row.components);
    for (int k = 0; k < row.components; ++k) {
        Gradient gradient;
        for (int i = 0; i < row.count; ++i) gradient.emplace_back(row.column[at(i)], row.J[at(k)][at(i)]);
        g.gradients.push_back(std::move(gradient));
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

Assessment assessOne(const Owner& owner, const Gathered& g, const estimate::CovarianceFactor& covariance) {
    const auto size = static_cast<Eigen::Index>(g.e.size());
    const MatX C = covariance.covariance(g.gradients);
    const MatX Q = MatX::Identity(size, size) + (owner.active ? -1.0 : 1.0) * C;
    const VecX e = Eigen::Map<const VecX>(g.e.data(), size);
    Assessment a;
    ObservationResult& r = a.result;
    r.object = owner.object;
    r.description = owner.description;
    r.check = owner.check;
    r.sigma = g.sigma.front();
    r.residual = e.cwiseProduct(Eigen::Map<const VecX>(g.sigma.data(), size));
    r.redundancy = owner.active ? Q.trace() : 0.0;
    r.test = blockStatistic(e, Q, r.size);
    r.smallestDetectable = std::numeric_limits<double>::infinity();
    for (Eigen::Index i = 0; i < size; ++i) {
        if (!(Q(i, i) > kUncontrolled)) continue;
        r.w = std::max(r.w, std::abs(e[i]) / std::sqrt(Q(i, i)));
        r.smallestDetectable = std::min(r.smallestDetectable,
                                        kDelta0 * g.sigma[static_cast<std::size_t>(i)] / std::sqrt(Q(i, i)));
    }
    if (r.size == 0) return a;
    a.logProbability = stats::logChiSquareUpperTail(r.test, r.size);
    for (const auto& [first, count] : g.points) {
        int rank = 0;
        const double t = blockStatistic(e.segment(first, count), Q.block(first, first, count, count), rank);
        if (rank > 0)
            a.logProbability = std::min(a.logProbability, stats::logChiSquareUpperTail(t, rank) +
                                                              std::log(static_cast<double>(g.points.size())));
    }
    a.logProbability = std::min(a.logProbability, 0.0);
    r.probability = std::exp(a.logProbability);
    return a;
}

}  // namespace

std::vector<Assessment> assess(const Network& network, const estimate::CovarianceFactor& covariance) {
    std::vector<Rows> rows;
    std::vector<Assessment> out;
    if (!network.linearise(rows, true)) return out;
    const std::vector<int> owners = network.rowOwners();
    std::vector<Gathered> gathered(network.owners().size());
    for (std::size_t r = 0; r < rows.size(); ++r)
        gather(rows[r], sigmaOf(network, owners[r], r), gathered[at(owners[r])]);
    for (std::size_t o = 0; o < network.owners().size(); ++o)
        out.push_back(gathered[o].e.empty() ? Assessment{}
                                            : assessOne(network.owners()[o], gathered[o], covariance));
    return out;
}

}  // namespace trammel::adjust
