// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/PieceStrips.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>

#include "core/fit/CurveFit.h"
#include "core/fit/Scatter.h"

namespace trammel::fit {
namespace {

constexpr double kStretch_px = 10.0, kArcStretch_px = 5.0, kLeastStretch_px = 4.0;
constexpr int kMostPoints = 24;
constexpr double kSag_px = 60.0;    // shorter lines have none
constexpr double kStray_px = 0.8;   // from the guide
constexpr double kLeastSign = 0.7;  // share of stretches with the common light side

/// Least-squares parabola through the course over the chord from its first to its last place.
LineGuide lineThrough(const std::vector<Vec2>& course) {
    const LineGuide chord(course.front(), course.back());
    const double length = chord.length();
    Mat3 n = Mat3::Zero();
    Vec3 g = Vec3::Zero();
    for (const Vec2& p : course) {
        const Local at = chord.locate(p);
        const double t = at.s / length;
        const Vec3 row(1 - t, t, 4 * t * (1 - t));
        n += row * row.transpose();
        g += at.d * row;
    }
    if (length < kSag_px) n(0, 2) = n(2, 0) = n(1, 2) = n(2, 1) = g(2) = 0.0;
    n(2, 2) = std::max(n(2, 2), 1e-9);
    const Vec3 x = n.ldlt().solve(g);
    return LineGuide(chord.point(0.0, x(0)), chord.point(length, x(1)), x(2));
}

std::unique_ptr<Guide> arcThrough(const std::vector<Vec2>& course, bool whole) {
    const auto circle = fitCircle(course);
    if (!circle) return nullptr;
    if (whole) return std::make_unique<EllipseGuide>(*circle, 0.0, 2.0 * std::numbers::pi, true);
    double sweep = 0.0;
    const EllipseDistance distance(*circle);
    double last = distance.foot(course.front()).t;
    const double from = last;
    for (const Vec2& p : course) {
        const double t = distance.foot(p).t;
        double step = t - last;
        step -= 2.0 * std::numbers::pi * std::round(step / (2.0 * std::numbers::pi));
        sweep += step;
        last = t;
    }
    if (!(std::abs(sweep) > 1e-6)) return nullptr;
    return std::make_unique<EllipseGuide>(*circle, from, sweep, false);
}

/// +1 where most stretches are lighter along +d.
double signOf(const photo::LinearImage& image, const Guide& guide) {
    CurveOptions o;
    double sum = 0.0;
    for (int k = 0; k < 9; ++k) {
        const double s = guide.length() * (k + 0.5) / 9.0;
        const auto light = [&](double d) {
            const Vec2 p = guide.point(s, d);
            const int x = std::clamp(static_cast<int>(std::lround(p.x())), 0, image.width - 1);
            const int y = std::clamp(static_cast<int>(std::lround(p.y())), 0, image.height - 1);
            return static_cast<double>(image.at(x, y));
        };
        const double step = light(2.0) - light(-2.0);
        sum += step;
    }
    return sum < 0.0 ? -1.0 : 1.0;
}

std::vector<std::function<double(double)>> smoothShapes(double length, bool arc) {
    std::vector<std::function<double(double)>> out = {[](double) { return 1.0; },
                                                      [length](double s) { return s / length - 0.5; }};
    if (arc || length > kSag_px) out.push_back([length](double s) { return std::pow(s / length - 0.5, 2); });
    return out;
}

}  // namespace

std::optional<Fit> stripsAlong(const photo::LinearImage& image, const std::vector<Vec2>& course, bool arc,
                               bool whole) {
    if (course.size() < 5) return std::nullopt;
    const std::unique_ptr<Guide> guide =
        arc ? arcThrough(course, whole) : std::make_unique<LineGuide>(lineThrough(course));
    if (!guide || guide->length() < 2.0 * kLeastStretch_px) return std::nullopt;
    CurveOptions co;
    const double stretch = arc ? kArcStretch_px : kStretch_px;
    const int most = static_cast<int>(guide->length() / kLeastStretch_px);
    co.stretches =
        std::clamp(static_cast<int>(guide->length() / stretch), std::min(arc ? 3 : 2, most), kMostPoints);
    co.sign = signOf(image, *guide);
    co.binLength = std::clamp(guide->length() / co.stretches / 3.0, 2.0, 8.0);
    co.tilts = !arc && guide->length() / co.stretches >= 8.0;
    CurveFit curve = fitAlong(image, *guide, co);
    const auto stray = [](const Stretch& s) { return std::abs(s.fit.offset) > kStray_px; };
    for (const Stretch& s : curve.stretches)
        if (stray(s)) std::erase_if(curve.bins, [&](const StripBin& b) { return b.s >= s.s0 && b.s < s.s1; });
    std::erase_if(curve.stretches, stray);
    if (refusal(curve, arc ? 3 : 2) ||
        static_cast<double>(curve.stretches.size()) < kLeastSign * co.stretches)
        return std::nullopt;
    const Scatter scatter = scatterOf(curve.bins, smoothShapes(guide->length(), arc));
    Fit out = fitOf(curve, *guide, scatter, co.binLength);
    std::erase_if(out.points, [](const FitPoint& p) { return !(p.sigma_px < 1.0); });
    if (out.points.size() < (arc ? 3u : 2u)) return std::nullopt;
    return out;
}

}  // namespace trammel::fit
