// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Assess.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>

#include "core/math/Statistics.h"

namespace trammel::adjust {
namespace {

/// Redundancy under which a component is called uncontrolled: its residual says nothing.
constexpr double kUncontrolled = 1e-3;
/// Redundancy of a shift under which it would have to be ten times its smallest size to show.
constexpr double kHardly = 0.01;
/// δ0 of Baarda for α 0.001 and power 0.80.
constexpr double kDelta0 = 4.1321;

/// e' Q⁺ e over the controlled directions of Q, and how many there are.
double blockStatistic(const VecX& e, const MatX& Q, int& rank) {
    const Eigen::Index n = e.size();
    rank = n == 1 && !(Q(0, 0) > kUncontrolled) ? 0 : static_cast<int>(n);
    if (n == 1) return rank > 0 ? e[0] * e[0] / Q(0, 0) : 0.0;
    // Mostly every direction is controlled; that Cholesky can tell, and it is many times faster.
    if (Eigen::LLT<MatX>(Q - kUncontrolled * MatX::Identity(n, n)).info() == Eigen::Success)
        return Eigen::LLT<MatX>(Q).matrixL().solve(e).squaredNorm();
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

/// The redundancy numbers of a shift of the whole mark or value: of the direction that is controlled least
/// and of the one controlled best. How a shift moves the residuals is how the picture's own offset does.
std::pair<double, double> shiftRedundancy(const Network& n, const OwnerRows& rows, const MatX& Q) {
    MatX T = MatX::Ones(rows.size(), 1);
    if (rows.station >= 0) {
        const auto& columns = n.columns().stations[at(rows.station)];
        T = MatX::Zero(rows.size(), 2);
        for (Eigen::Index i = 0; i < rows.size(); ++i)
            for (const auto& [column, d] : rows.J[static_cast<std::size_t>(i)])
                for (int k = 0; k < 2; ++k)
                    if (column >= 0 && column == columns[at(4 + k)]) T(i, k) += d;
    }
    const Eigen::SelfAdjointEigenSolver<MatX> own(T.transpose() * T);
    double least = 1.0, most = 0.0;
    MatX basis(T.rows(), 0);
    for (Eigen::Index k = 0; k < T.cols(); ++k) {
        // Along an edge a mark may slide: that is no error.
        if (!(own.eigenvalues()[k] > 1e-4 * own.eigenvalues().maxCoeff())) continue;
        basis.conservativeResize(Eigen::NoChange, basis.cols() + 1);
        basis.rightCols(1) = T * own.eigenvectors().col(k) / std::sqrt(own.eigenvalues()[k]);
    }
    if (basis.cols() == 0) return {0.0, 0.0};
    const Eigen::SelfAdjointEigenSolver<MatX> eigen(basis.transpose() * Q * basis);
    least = std::clamp(eigen.eigenvalues().minCoeff(), 0.0, 1.0);
    most = std::clamp(eigen.eigenvalues().maxCoeff(), 0.0, 1.0);
    return {least, most};
}

Assessment assessOne(const Influence& influence, int index) {
    const Owner& owner = influence.network().owners()[at(index)];
    const OwnerRows& g = influence.rows(index);
    const Eigen::Index size = g.size();
    const MatX Q = influence.Q(index);
    const VecX e = g.residual();
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
    a.logProbability = logProbability(e, Q, g.points);
    r.probability = std::exp(a.logProbability);
    return a;
}

}  // namespace

double logProbability(const VecX& e, const MatX& Q, const std::vector<std::pair<int, int>>& points) {
    int rank = 0;
    const double whole = blockStatistic(e, Q, rank);
    if (rank == 0) return 0.0;
    double least = stats::logChiSquareUpperTail(whole, rank);
    for (const auto& [first, count] : points) {
        const double t = blockStatistic(e.segment(first, count), Q.block(first, first, count, count), rank);
        if (rank > 0)
            least = std::min(
                least, stats::logChiSquareUpperTail(t, rank) + std::log(static_cast<double>(points.size())));
    }
    return std::min(least, 0.0);
}

std::vector<Assessment> assess(const Influence& influence) {
    // A state that cannot be linearised has no rows and tells nothing of anybody.
    std::vector<Assessment> out(influence.network().owners().size());
    for (const int o : influence.byFeature()) out[at(o)] = assessOne(influence, o);
    return out;
}

void findReliability(const Influence& influence, const std::vector<DimensionGradient>& dimensions,
                     std::vector<Assessment>& assessments) {
    std::vector<VecX> shifts;
    for (const DimensionGradient& d : dimensions) shifts.push_back(influence.covariance().times(d.gradient));
    for (const int o : influence.byFeature()) {
        if (!influence.network().owners()[at(o)].active) continue;
        int rank = 0;
        const MatX Q = influence.Q(o);
        const MatX inverse = controlledInverse(Q, rank, kUncontrolled);
        ObservationResult& r = assessments[at(o)].result;
        const auto [least, most] = shiftRedundancy(influence.network(), influence.rows(o), Q);
        r.weakest = least;
        r.controlled = most > kHardly;
        for (std::size_t d = 0; d < shifts.size(); ++d) {
            const VecX a = along(influence.rows(o), shifts[d]);
            const double harm = kDelta0 * std::sqrt(std::max(0.0, a.dot(inverse * a)));
            if (harm > r.harm) r.harm = harm, r.harmed = dimensions[d].id;
        }
    }
}

}  // namespace trammel::adjust
