// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/CornerTests.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "core/estimate/Covariance.h"
#include "core/estimate/JointCovariance.h"
#include "core/math/Statistics.h"

namespace trammel::calibrate {
namespace {

double medianOf(std::vector<double> v) {
    if (v.empty()) return 0.0;
    const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
    std::nth_element(v.begin(), middle, v.end());
    return *middle;
}

/// Whitened lengths of all residuals with full weights and factor 1, frame by frame.
std::vector<std::vector<double>> sizes(const BoardProblem& problem) {
    BoardProblem plain = problem;
    plain.factor = 1.0;
    for (auto& of : plain.weights) std::fill(of.begin(), of.end(), 1.0);
    std::vector<std::vector<double>> out;
    std::vector<estimate::Rows> rows;
    const bool possible = plain.linearise(rows, false);
    std::size_t at = 0;
    for (const BoardFrame* frame : problem.frames()) {
        out.emplace_back();
        for (std::size_t k = 0; k < frame->corners.size(); ++k, ++at)
            out.back().push_back(possible ? std::sqrt(rows[at].squared()) : 0.0);
    }
    return out;
}

double robustScale(const std::vector<std::vector<double>>& sizes) {
    std::vector<double> all;
    for (const auto& of : sizes) all.insert(all.end(), of.begin(), of.end());
    return std::max(medianOf(all) / 1.17741, 1e-9);  // median of Rayleigh's distribution
}

}  // namespace

void reweigh(BoardProblem& problem) {
    const auto all = sizes(problem);
    problem.factor = robustScale(all);
    for (std::size_t f = 0; f < all.size(); ++f)
        for (std::size_t k = 0; k < all[f].size(); ++k)
            problem.weights[f][k] = 1.0 / (1.0 + std::pow(all[f][k] / (3.0 * problem.factor), 2));
}

void setAsideGross(BoardProblem& problem) {
    const auto all = sizes(problem);
    problem.factor = robustScale(all);
    for (std::size_t f = 0; f < all.size(); ++f)
        for (std::size_t k = 0; k < all[f].size(); ++k)
            problem.weights[f][k] = all[f][k] > 8.0 * problem.factor ? 0.0 : 1.0;
}

bool dropCorners(BoardProblem& problem) {
    static const double kMost = stats::chiSquareQuantile(0.999, 2.0);
    std::vector<estimate::Rows> rows;
    if (!problem.linearise(rows, true)) return false;
    estimate::Normal normal(problem.layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    const estimate::CovarianceFactor factor(normal, defect);
    if (!factor.valid()) return false;
    estimate::JointCovariance joint(factor);
    bool any = false;
    std::size_t at = 0;
    for (std::size_t f = 0; f < problem.frames().size(); ++f) {
        double worst = kMost;
        std::size_t which = 0;
        for (std::size_t k = 0; k < problem.frames()[f]->corners.size(); ++k, ++at) {
            const estimate::Rows& row = rows[at];
            if (!row.active) continue;
            const std::vector<int> columns(row.column.begin(), row.column.begin() + row.count);
            MatX sigma;
            joint.of(columns, sigma);
            Eigen::Matrix<double, 2, Eigen::Dynamic> J(2, row.count);
            for (int c = 0; c < row.count; ++c)
                J.col(c) = Vec2(row.J[0][static_cast<std::size_t>(c)], row.J[1][static_cast<std::size_t>(c)]);
            const Mat2 redundancy = Mat2::Identity() - J * sigma * J.transpose();
            if (!(redundancy.determinant() > 1e-4)) continue;  // nothing else says where it should be
            const Vec2 e(row.e[0], row.e[1]);
            const double t = e.dot(redundancy.inverse() * e);
            if (t > worst) {
                worst = t;
                which = k + 1;
            }
        }
        if (which > 0) {
            problem.weights[f][which - 1] = 0.0;
            any = true;
        }
    }
    return any;
}

std::optional<std::size_t> badFrame(const BoardProblem& problem) {
    const auto all = sizes(problem);
    std::vector<double> variance;
    std::vector<double> freedom;
    std::optional<std::size_t> thin;
    for (std::size_t f = 0; f < all.size(); ++f) {
        double sum = 0.0, n = 0.0;
        for (std::size_t k = 0; k < all[f].size(); ++k)
            if (problem.weights[f][k] > 0.0) {
                sum += all[f][k] * all[f][k];
                n += 2.0;
            }
        const double dof = std::max(n - 6.0, 1.0);
        if (n < 14.0 || n < static_cast<double>(all[f].size())) thin = f;
        variance.push_back(sum / dof);
        freedom.push_back(dof);
    }
    if (thin) return thin;
    const double typical = std::max(medianOf(variance), 1e-12);
    std::optional<std::size_t> worst;
    for (std::size_t f = 0; f < all.size(); ++f) {
        const double ratio = variance[f] / typical;
        if (ratio < 9.0 || ratio * freedom[f] < stats::chiSquareQuantile(0.999, freedom[f])) continue;
        if (!worst || variance[f] > variance[*worst]) worst = f;
    }
    return worst;
}

}  // namespace trammel::calibrate
