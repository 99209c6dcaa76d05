// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/StartBoard.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <opencv2/calib3d.hpp>
#include <optional>

#include "core/estimate/Solver.h"
#include "core/math/Rotation.h"

namespace trammel::calibrate {
namespace {

/// From board mm (about the photograph's pivot) to px about the middle of the frame.
std::optional<Mat3> homographyOf(const BoardProblem& problem, std::size_t frame, const Vec2& middle) {
    std::vector<cv::Point2d> from, to;
    const Vec3& pivot = problem.states[frame].pivot;
    for (const BoardCorner& c : problem.frames()[frame]->corners) {
        const Vec3 p = problem.boardPoint(c.i, c.j) - pivot;
        from.emplace_back(p.x(), p.y());
        to.emplace_back(c.px.x() - middle.x(), c.px.y() - middle.y());
    }
    if (from.size() < 4) return std::nullopt;
    // Robust: a corner may have been taken for its neighbour.
    const cv::Mat h = cv::findHomography(from, to, cv::LMEDS);
    if (h.empty()) return std::nullopt;
    Mat3 out;
    for (int r = 0; r < 3; ++r)
        for (int c = 0; c < 3; ++c) out(r, c) = h.at<double>(r, c);
    if (!out.allFinite() || !(std::abs(out(2, 2)) > 0.0)) return std::nullopt;
    return out / out(2, 2);
}

/// κ² from h1ᵀ ω h2 = 0 and h1ᵀ ω h1 = h2ᵀ ω h2, ω = diag(κ², κ², 1), by least squares. Nothing where the
/// board was never tilted.
std::optional<double> distanceFrom(const std::vector<Mat3>& all) {
    double num = 0.0, den = 0.0;
    for (const Mat3& h : all) {
        const Vec2 a = h.col(0).head<2>(), b = h.col(1).head<2>();
        const double size = a.squaredNorm() + b.squaredNorm();
        const double rows[2][2] = {
            {a.dot(b), h(2, 0) * h(2, 1)},
            {a.squaredNorm() - b.squaredNorm(), h(2, 0) * h(2, 0) - h(2, 1) * h(2, 1)}};
        for (const auto& row : rows) {
            num -= row[0] * row[1] / (size * size);
            den += row[0] * row[0] / (size * size);
        }
    }
    const double kappa2 = num / std::max(den, 1e-300);
    if (!(kappa2 > 0.0) || !std::isfinite(kappa2)) return std::nullopt;
    return 1.0 / std::sqrt(kappa2);
}

/// Pose of a photograph from its homography for this principal distance.
FrameState poseFrom(const Mat3& h, double c, const Vec2& middle, const Vec3& pivot) {
    Mat3 m = h;
    m.topRows<2>() /= c;
    const double scale = 2.0 / (m.col(0).norm() + m.col(1).norm());
    const Vec3 a = scale * m.col(0), b = scale * m.col(1), t = scale * m.col(2);  // t.z() > 0: h(2, 2) = 1
    Mat3 r;
    r << a, b, a.cross(b);
    FrameState out;
    out.R = nearestRotation(r);
    out.lnScale = std::log(c / t.z());
    out.g = middle + h.col(2).head<2>();
    out.pivot = pivot;
    return out;
}

double sumOf(const BoardProblem& problem) {
    std::vector<estimate::Rows> rows;
    if (!problem.linearise(rows, false)) return 1e300;
    return estimate::sumOfSquares(rows);
}

/// Weights that take off most of what gross errors weigh (Cauchy), by the robust scale of the residuals.
void weigh(BoardProblem& problem) {
    std::vector<double> size;
    for (std::size_t f = 0; f < problem.states.size(); ++f)
        for (const Vec2& v : problem.residuals(f)) size.push_back(v.norm());
    std::nth_element(size.begin(), size.begin() + static_cast<std::ptrdiff_t>(size.size() / 2), size.end());
    const double scale = std::max(size[size.size() / 2] / 1.1774, 1e-6);  // median of Rayleigh's distribution
    for (std::size_t f = 0; f < problem.states.size(); ++f) {
        const auto v = problem.residuals(f);
        for (std::size_t k = 0; k < v.size(); ++k)
            problem.weights[f][k] = 1.0 / (1.0 + v[k].squaredNorm() / (9.0 * scale * scale));
    }
}

}  // namespace

bool turnTilts(BoardProblem& problem) {
    bool any = false;
    for (std::size_t f = 0; f < problem.states.size(); ++f) {
        const FrameState kept = problem.states[f];
        BoardProblem single = problem.alone(f);
        const double before = sumOf(single);
        Mat3 mirror = Mat3::Identity();
        mirror(2, 2) = -1.0;
        single.states[0].R = mirror * kept.R * mirror;
        estimate::SolverOptions options;
        options.mostIterations = 30;
        options.stepTolerance = 1e-4;
        (void)estimate::solve(single, options);
        if (sumOf(single) < 0.98 * before) {
            problem.states[f] = single.states[0];
            any = true;
        }
    }
    return any;
}

bool startBoard(BoardProblem& problem, const Vec2& middle, double expected) {
    std::vector<Mat3> all;
    for (std::size_t f = 0; f < problem.states.size(); ++f) {
        const auto h = homographyOf(problem, f, middle);
        if (!h) return false;
        all.push_back(*h);
    }
    const double width = 2.0 * middle.x();
    std::vector<double> tries;
    if (const auto c = distanceFrom(all); c && *c > 0.1 * width) tries.push_back(*c);
    if (expected > 0.0) tries.push_back(expected);
    for (const double share : {0.7, 1.5, 4.0, 12.0}) tries.push_back(share * width);
    const auto open = problem.open;
    double best = 1e300;
    SharedState bestShared;
    std::vector<FrameState> bestStates;
    for (const double c : tries) {
        problem.shared.lnKappa = -std::log(c);
        problem.shared.pp = middle;
        problem.shared.K = {};
        for (std::size_t f = 0; f < all.size(); ++f)
            problem.states[f] = poseFrom(all[f], c, middle, problem.states[f].pivot);
        for (auto& of : problem.weights) std::fill(of.begin(), of.end(), 1.0);
        problem.open = {};
        problem.open[kLnKappa] = problem.open[kBrown1] = true;
        problem.layOut();
        estimate::SolverOptions options;
        options.mostIterations = 30;
        options.stepTolerance = 1e-3;
        for (int pass = 0; pass < 4; ++pass) {
            (void)estimate::solve(problem, options);
            weigh(problem);
        }
        turnTilts(problem);
        (void)estimate::solve(problem, options);
        // Robust sums differ in scale: compare the sums of the absolute residuals.
        double sum = 0.0;
        for (std::size_t f = 0; f < all.size(); ++f)
            for (const Vec2& v : problem.residuals(f)) sum += v.norm();
        if (std::isfinite(sum) && sum < best) {
            best = sum;
            bestShared = problem.shared;
            bestStates = problem.states;
        }
    }
    problem.open = open;
    problem.layOut();
    if (!(best < 1e300)) return false;
    problem.shared = bestShared;
    problem.states = bestStates;
    weigh(problem);
    return true;
}

}  // namespace trammel::calibrate
