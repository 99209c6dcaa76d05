// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/Verdict.h"

#include <fmt/core.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/base/Angle.h"

namespace trammel::calibrate {
namespace {

constexpr double kAlike = 8.0 * M_PI / 180.0;  // range of the board's tilts below which photographs are alike
constexpr double kTilted = 20.0 * M_PI / 180.0;  // range that a good set has both ways
constexpr double kLeastKnown = 0.02;             // relative σ of the principal distance

struct Tilts {
    double x, y, roll;
};

Tilts tiltsOf(const Mat3& r) {
    // The board's normal in camera axes; (0, 0, 1) when the camera is square to it.
    return {std::atan2(-r(1, 2), r(2, 2)), std::atan2(r(0, 2), r(2, 2)), std::atan2(r(1, 0), r(0, 0))};
}

struct Ranges {
    double tiltX = 0.0, tiltY = 0.0, turn = 0.0, scale = 1.0;
};

Ranges rangesOf(const BoardProblem& problem) {
    Ranges out;
    for (const FrameState& a : problem.states)
        for (const FrameState& b : problem.states) {
            const Tilts s = tiltsOf(a.R), t = tiltsOf(b.R);
            out.tiltX = std::max(out.tiltX, s.x - t.x);
            out.tiltY = std::max(out.tiltY, s.y - t.y);
            out.turn = std::max(out.turn, std::abs(std::sin(s.roll - t.roll)));  // a half turn is none
            out.scale = std::max(out.scale, std::exp(a.lnScale - b.lnScale));
        }
    return out;
}

std::string listed(const std::vector<std::string>& items) {
    std::string out;
    for (std::size_t n = 0; n < items.size(); ++n)
        out += (n == 0 ? "" : n + 1 == items.size() ? " and " : ", ") + items[n];
    return out;
}

const char* const kRegions[9] = {"upper left",   "upper middle", "upper right",  "middle left", "middle",
                                 "middle right", "lower left",   "lower middle", "lower right"};

Coverage coverageOf(const Calibration& c, FrameSizePx frame) {
    Coverage out;
    out.across = frame.width >= frame.height ? 12 : 8;
    out.down = std::clamp(
        static_cast<int>(std::lround(static_cast<double>(out.across) * frame.height / frame.width)), 4, 16);
    out.counts.assign(static_cast<std::size_t>(out.across * out.down), 0);
    const Vec2 middle(0.5 * (frame.width - 1), 0.5 * (frame.height - 1));
    for (const PhotographResult& p : c.frames)
        for (const CornerResidual& r : p.corners) {
            if (!p.used || r.dropped) continue;
            const int x =
                std::clamp(static_cast<int>((r.px.x() + 0.5) / frame.width * out.across), 0, out.across - 1);
            const int y =
                std::clamp(static_cast<int>((r.px.y() + 0.5) / frame.height * out.down), 0, out.down - 1);
            ++out.counts[static_cast<std::size_t>(y * out.across + x)];
            out.reach = std::max(out.reach, (r.px - middle).norm() / middle.norm());
        }
    return out;
}

std::vector<std::string> emptyRegions(const Calibration& c, FrameSizePx frame) {
    int counts[9] = {};
    for (const PhotographResult& p : c.frames)
        for (const CornerResidual& r : p.corners) {
            if (!p.used || r.dropped) continue;
            const int x = std::clamp(static_cast<int>(3.0 * (r.px.x() + 0.5) / frame.width), 0, 2);
            const int y = std::clamp(static_cast<int>(3.0 * (r.px.y() + 0.5) / frame.height), 0, 2);
            ++counts[3 * y + x];
        }
    std::vector<std::string> out;
    for (int n = 0; n < 9; ++n)
        if (counts[n] == 0) out.push_back(kRegions[n]);
    return out;
}

/// Photographs below which one that is wrong is hardly told from the others (common practice, no source).
constexpr int kEnough = 8;

void remarkOn(Calibration& c, const BoardProblem& problem, const std::vector<std::string>& empty) {
    for (const PhotographResult& p : c.frames) {
        if (!p.why.empty()) c.remarks.push_back(p.why);
        if (p.dropped == 0) continue;
        const CornerResidual* worst = nullptr;
        for (const CornerResidual& r : p.corners)
            if (r.dropped && (!worst || r.v.norm() > worst->v.norm())) worst = &r;
        c.remarks.push_back(fmt::format(
            "{}: {} of {} corners disagree and are left out, the worst by {:.2f} px (column {}, row {}).",
            p.name, p.dropped, p.corners.size(), worst->v.norm(), worst->i + 1, worst->j + 1));
    }
    if (c.photographs < kEnough)
        c.remarks.push_back(fmt::format(
            "{} photographs are few: what is wrong with one of them hardly shows. Take {} or more.",
            c.photographs, kEnough));
    if (!empty.empty())
        c.remarks.push_back(fmt::format(
            "No corner lies in the {} of the frame: what holds there is carried on from elsewhere.",
            listed(empty)));
    if (c.coverage.reach < 0.85)
        c.remarks.push_back(fmt::format(
            "The corners reach {:.0f} % of the way to the frame's corners; beyond, distortion is carried on.",
            100.0 * c.coverage.reach));
    std::vector<std::string> held;
    for (int n = 0; n < 8; ++n)
        if (!c.open[static_cast<std::size_t>(n)]) held.push_back(kConstantNames[static_cast<std::size_t>(n)]);
    if (!held.empty())
        c.remarks.push_back(fmt::format("The corners do not tell {}: held at zero.", listed(held)));
    if (const auto missing = missingMotions(problem); !missing.empty())
        c.remarks.push_back(fmt::format("What the photographs lack: {}.", listed(missing)));
    if (c.ratio.sigma > 0.0 && std::abs(c.ratio.value) > 3.3 * c.ratio.sigma)
        c.remarks.push_back(
            fmt::format("The board's squares are {:.2f} ± {:.2f} % {} than stated against their height.",
                        100.0 * std::abs(c.ratio.value), 200.0 * c.ratio.sigma,
                        c.ratio.value > 0 ? "wider" : "narrower"));
    if (c.unevenness_mm > 5e-4 * (problem.boardPoint(1, 0) - problem.boardPoint(0, 0)).norm())
        c.remarks.push_back(
            fmt::format("The print has its corners {:.3f} mm off an even grid (σ).", c.unevenness_mm));
    if (c.bow.sigma > 0.0 && std::abs(c.bow.value) > 3.3 * c.bow.sigma)
        c.remarks.push_back(fmt::format("The board is not flat: its rim lies {:.2f} ± {:.2f} mm off.",
                                        std::abs(c.bow.value), 2.0 * c.bow.sigma));
}

}  // namespace

Mat8 covarianceOfConstants(const BoardProblem& problem, const estimate::CovarianceFactor& covariance) {
    const camera::Constants k = problem.shared.constants();
    const double kappa = 1.0 / k.c, reach = problem.shared.rho * kappa;
    const double values[5] = {k.k1, k.k2, k.k3, k.p1, k.p2};
    constexpr int power[5] = {2, 4, 6, 1, 1};
    std::vector<estimate::Gradient> gradients(8);
    const auto add = [&](int constant, int shared, double slope) {
        if (problem.column(shared) >= 0)
            gradients[static_cast<std::size_t>(constant)].push_back({problem.column(shared), slope});
    };
    add(kDistance, kLnKappa, -k.c);
    add(kPointX, kSharedX, 1.0);
    add(kPointY, kSharedY, 1.0);
    for (int n = 0; n < 5; ++n) {
        if (problem.column(kBrown1 + n) < 0) continue;
        add(kK1 + n, kBrown1 + n, std::pow(reach, -power[n]));
        add(kK1 + n, kLnKappa, -power[n] * values[n]);
    }
    Mat8 out = Mat8::Zero();
    std::vector<estimate::Gradient> told;
    std::vector<int> which;
    for (int n = 0; n < 8; ++n)
        if (!gradients[static_cast<std::size_t>(n)].empty()) {
            told.push_back(gradients[static_cast<std::size_t>(n)]);
            which.push_back(n);
        }
    const MatX q = covariance.covariance(told);
    for (std::size_t a = 0; a < which.size(); ++a)
        for (std::size_t b = 0; b < which.size(); ++b)
            out(which[a], which[b]) = 0.5 * (q(static_cast<Eigen::Index>(a), static_cast<Eigen::Index>(b)) +
                                             q(static_cast<Eigen::Index>(b), static_cast<Eigen::Index>(a)));
    return out;
}

survey::Measured bowOf(const BoardProblem& problem, const estimate::CovarianceFactor& covariance,
                       const Board& board) {
    survey::Measured out;
    const Vec2 half = board.size().normalized();
    for (const Vec2& at : {Vec2(1, 1), Vec2(1, -1), Vec2(1, 0), Vec2(0, 1)}) {
        const Vec2 n = at.cwiseProduct(half);
        const Vec3 shape(n.x() * n.x(), n.x() * n.y(), n.y() * n.y());
        const double height = shape.dot(problem.shared.bow);
        estimate::Gradient g;
        for (int k = 0; k < 3; ++k) g.push_back({problem.column(kBow + k), shape(k)});
        const double sigma = std::sqrt(covariance.variance(g));
        if (out.sigma == 0.0 || std::abs(height) > std::abs(out.value)) out = {height, sigma};
    }
    return out;
}

void describeFrame(const BoardProblem& problem, std::size_t frame, PhotographResult& out) {
    const FrameState& state = problem.states[frame];
    const auto v = problem.residuals(frame);
    const auto& corners = problem.frames()[frame]->corners;
    double sum = 0.0;
    for (std::size_t k = 0; k < corners.size(); ++k) {
        const bool dropped = !(problem.weights[frame][k] > 0.0);
        out.corners.push_back({corners[k].i, corners[k].j, corners[k].px, v[k], dropped});
        out.dropped += dropped;
        if (!dropped) sum += v[k].squaredNorm();
    }
    out.used = true;
    out.rms_px = std::sqrt(sum / std::max<double>(1.0, static_cast<double>(corners.size()) - out.dropped));
    const Tilts t = tiltsOf(state.R);
    out.tiltX = t.x;
    out.tiltY = t.y;
    out.roll = t.roll;
    out.scale = std::exp(state.lnScale);
    const double kappa = std::exp(problem.shared.lnKappa), depth = 1.0 / (kappa * out.scale);
    const Vec2 aside = kappa * depth * (state.g - problem.shared.pp);
    out.pose = {state.R, Vec3(aside.x(), aside.y(), depth) - state.R * state.pivot};
}

std::vector<std::string> missingMotions(const BoardProblem& problem) {
    const Ranges r = rangesOf(problem);
    std::vector<std::string> out;
    if (r.tiltX < kTilted)
        out.push_back("a tilt about x (its upper edge nearer, then farther, by 20 to 40°)");
    if (r.tiltY < kTilted) out.push_back("a tilt about y (its left edge nearer, then farther, by 20 to 40°)");
    if (r.turn < 0.7) out.push_back("a rotation by 90° about the line of sight");
    if (r.scale < 1.15) out.push_back("another distance");
    return out;
}

Error alikeRefusal(const BoardProblem& problem) {
    const auto missing = missingMotions(problem);
    return {
        ErrorCode::Refused, "the photographs of the board are too alike to tell the lens", "calibration",
        missing.empty() ? "take more of them, from more directions" : "take more with " + listed(missing)};
}

std::optional<Error> tooAlike(const BoardProblem& problem) {
    const Ranges r = rangesOf(problem);
    if (r.tiltX < kAlike && r.tiltY < kAlike) return alikeRefusal(problem);
    return std::nullopt;
}

Result<Calibration> judge(Calibration c, const BoardProblem& problem, FrameSizePx frame) {
    if (c.open[kDistance] && !(c.sigma(kDistance) < kLeastKnown * c.constants.c))
        return alikeRefusal(problem);
    c.coverage = coverageOf(c, frame);
    const auto empty = emptyRegions(c, frame);
    if (empty.size() >= 3)
        return Error{
            ErrorCode::Refused,
            fmt::format("the photographs never show the board in the {} of the frame", listed(empty)),
            "calibration", "take more with the board there"};
    remarkOn(c, problem, empty);
    return c;
}

}  // namespace trammel::calibrate
