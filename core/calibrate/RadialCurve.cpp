// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/RadialCurve.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

namespace trammel::calibrate {

double RadialCurve::factor(double r) const {
    const auto& t = terms;
    switch (kind) {
        case RadialKind::Cubic:
            return 1.0 - t[0] + t[0] * r * r;
        case RadialKind::Quintic:
            return 1.0 + r * r * (t[0] + t[1] * r * r);
        case RadialKind::Quartic:
            return 1.0 - t[0] - t[1] - t[2] + r * (t[2] + r * (t[1] + r * t[0]));
    }
    return 1.0;
}

double RadialCurve::slope(double r) const {
    const auto& t = terms;
    switch (kind) {
        case RadialKind::Cubic:
            return 1.0 - t[0] + 3 * t[0] * r * r;
        case RadialKind::Quintic:
            return 1.0 + r * r * (3 * t[0] + 5 * t[1] * r * r);
        case RadialKind::Quartic:
            return 1.0 - t[0] - t[1] - t[2] + r * (2 * t[2] + r * (3 * t[1] + r * 4 * t[0]));
    }
    return 1.0;
}

namespace {

constexpr double kLeastSlope = 0.1;
constexpr int kAcross = 60, kDown = 40;  // places over the frame

/// The undistorted radius of a distorted one, from below: the curve must rise all the way.
std::optional<double> undistorted(const RadialCurve& curve, double distorted) {
    double r = 0.0;
    for (int i = 0; i < 200; ++i) {
        const double miss = distorted - curve.distorted(r), slope = curve.slope(r);
        if (!(slope > kLeastSlope)) return std::nullopt;
        if (std::abs(miss) < 1e-13) return r;
        r += std::clamp(miss / slope, -0.05, 0.05);  // small steps: none leaps over a place where it turns
        if (!(r >= 0.0)) return std::nullopt;
    }
    return std::nullopt;
}

struct Sample {
    double ideal, distorted_px;
};

}  // namespace

Result<Conversion> toBrown(const RadialCurve& curve, double unit_px, double c_px, int width, int height) {
    const double middle = curve.middle();
    if (!(unit_px > 0.0) || !(c_px > 0.0) || width < 2 || height < 2 ||
        !std::isfinite(unit_px + c_px + middle))
        return Error{ErrorCode::BadValue, "size, scale or principal distance is no positive number",
                     "lens of the database", "give the photograph as the camera wrote it"};
    const Error folds{ErrorCode::Refused, "its distortion turns back within the frame",
                      "lens of the database", "calibrate the lens with a board of squares"};
    if (!(middle > kLeastSlope)) return folds;
    Conversion made;
    made.idealPerPx = middle / c_px;
    made.constants.pp = {(width - 1) / 2.0, (height - 1) / 2.0};
    std::vector<Sample> samples;
    for (int j = 0; j <= kDown; ++j)
        for (int i = 0; i <= kAcross; ++i) {
            const Vec2 px((width - 1.0) * i / kAcross, (height - 1.0) * j / kDown);
            const double r_px = (px - made.constants.pp).norm();
            const auto r = undistorted(curve, r_px / unit_px);
            if (!r) return folds;
            samples.push_back({*r * unit_px * made.idealPerPx, r_px});
        }
    const Sample corner = samples.front();
    made.corner_px = corner.distorted_px - corner.ideal * c_px;

    // Odd powers of the ideal radius, counted in that of the corner so that the equations are well scaled.
    Eigen::Matrix4d normal = Eigen::Matrix4d::Zero();
    Eigen::Vector4d right = Eigen::Vector4d::Zero();
    const auto powers = [&](double ideal) {
        const double u = ideal / corner.ideal, u2 = u * u;
        return Eigen::Vector4d(u, u * u2, u * u2 * u2, u * u2 * u2 * u2);
    };
    for (const Sample& s : samples) {
        const Eigen::Vector4d row = powers(s.ideal);
        normal += row * row.transpose();
        right += row * s.distorted_px;
    }
    const Eigen::Vector4d solved = normal.ldlt().solve(right);
    if (!solved.allFinite() || !(solved[0] > 0.0)) return folds;
    double squares = 0.0;
    for (const Sample& s : samples) {
        const double miss = powers(s.ideal).dot(solved) - s.distorted_px;
        made.worst_px = std::max(made.worst_px, std::abs(miss));
        squares += miss * miss;
    }
    made.rms_px = std::sqrt(squares / static_cast<double>(samples.size()));
    const double unit2 = corner.ideal * corner.ideal;
    auto& k = made.constants;
    k.c = solved[0] / corner.ideal;
    k.k1 = solved[1] / solved[0] / unit2;
    k.k2 = solved[2] / solved[0] / (unit2 * unit2);
    k.k3 = solved[3] / solved[0] / (unit2 * unit2 * unit2);
    return made;
}

}  // namespace trammel::calibrate
