// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/fit/Choose.h"
#include "core/fit/CurveFit.h"
#include "core/fit/EdgeFit.h"
#include "core/fit/Scatter.h"
#include "core/math/Statistics.h"

namespace trammel::fit {
namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;
constexpr double kLeastStretch = 4.0;  // px along a rim
constexpr double kLeastRadius = 2.5;   // px

/// The guide over the whole ellipse, or over the part from the first to the last point that passes the
/// others.
EllipseGuide guideFor(const Ellipse& ellipse, const std::vector<Vec2>& rim, bool whole) {
    if (whole) return EllipseGuide(ellipse, 0.0, kTurn, true);
    const EllipseDistance distance(ellipse);
    const double t0 = distance.foot(rim.front()).t;
    auto turn = [&](const Vec2& p) {
        const double t = distance.foot(p).t - t0;
        return t - std::floor(t / kTurn) * kTurn;
    };
    const double end = turn(rim.back());
    int inside = 0, outside = 0;
    for (std::size_t i = 1; i + 1 < rim.size(); ++i) (turn(rim[i]) < end ? inside : outside)++;
    return EllipseGuide(ellipse, t0, inside >= outside ? end : end - kTurn, false);
}

/// Start from the hand's points: a circle, made elliptical where there are points enough.
std::optional<Ellipse> startOf(const std::vector<Vec2>& rim, bool whole) {
    std::optional<Ellipse> e = fitCircle(rim);
    if (e && whole && rim.size() >= 5) {
        // Relative to hand points of about 1.5 px: a hole is rarely seen flatter than 3 : 2.
        const std::vector<double> weights(rim.size(), 1.0 / (1.5 * 1.5));
        if (const auto better = fitEllipse(rim, *e, weights, 0.2)) e = better;
    }
    return e;
}

Family familyFor(const EllipseGuide& guide, double reach) {
    const double length = guide.length();
    if (!guide.closed()) return parabolas(length, reach);
    return {{[](double) { return 1.0; }, [length](double s) { return std::cos(kTurn * s / length); },
             [length](double s) { return std::sin(kTurn * s / length); }},
            {reach, 0.67 * reach, 0.67 * reach}};
}

/// Conic through places along a guide, robustly. A short arc cannot tell an ellipse from a circle: there the
/// two semi-axes are believed to stay as they are.
std::optional<Ellipse> conicThrough(const EllipseGuide& guide, const std::vector<Local>& places,
                                    const std::vector<double>& sigmas) {
    std::vector<Vec2> points;
    for (const Local& p : places) points.push_back(guide.point(p.s, p.d));
    const double sweep = std::abs(guide.sweep());
    const double roundness = sweep > 4.7 ? 0.0 : sweep > 3.1 ? 0.02 : 0.002;
    std::vector<double> weights(points.size(), 1.0);
    for (std::size_t i = 0; i < sigmas.size(); ++i) weights[i] = 1.0 / (sigmas[i] * sigmas[i]);
    const std::vector<double> base = weights;
    std::optional<Ellipse> e = guide.ellipse();
    if (sweep < 3.1)
        if (const auto circle = fitCircle(points, weights)) e = circle;
    for (int pass = 0; pass < 6 && e; ++pass) {
        e = fitEllipse(points, *e, weights, points.size() < 8 ? std::max(roundness, 0.02) : roundness);
        if (!e) break;
        const EllipseDistance distance(*e);
        std::vector<double> r;
        for (const Vec2& p : points) r.push_back(std::abs(distance.foot(p).distance));
        std::vector<double> sorted = r;
        std::nth_element(sorted.begin(), sorted.begin() + sorted.size() / 2, sorted.end());
        const double sigma = std::max(1.4826 * sorted[sorted.size() / 2], 0.03);
        for (std::size_t i = 0; i < r.size(); ++i)
            weights[i] = base[i] / (1.0 + std::pow(r[i] / (2.5 * sigma), 2));
    }
    return e;
}

Result<EllipseGuide> findRim(const photo::LinearImage& image, const std::vector<Vec2>& rim, bool whole,
                             const FitOptions& o, double& sign, std::vector<Rival>* rivals) {
    if (rim.size() < 3)
        return Error{ErrorCode::BadValue, "a rim needs at least three points", "", "place another one"};
    for (const Vec2& p : rim)
        if (!p.allFinite())
            return Error{ErrorCode::BadValue, "the rim's coordinates are not finite", "",
                         "place the points again"};
    if (image.width < 8 || image.height < 8 ||
        image.data.size() < static_cast<std::size_t>(image.width) * image.height)
        return refuse("the picture is too small", "use the original photograph");
    const std::optional<Ellipse> start = startOf(rim, whole);
    if (!start) return refuse("the rim's points lie on a line", "spread them round the rim");
    if (axesOf(*start).b < kLeastRadius)
        return refuse(fmt::format("the {} is too small to tell its rim", whole ? "hole" : "arc"),
                      "keep the mark by hand");
    const EllipseGuide guide = guideFor(*start, rim, whole);
    if (guide.length() < 12.0)
        return refuse("the arc is too short to tell its rim", "mark a longer part of it");
    // Profiles must not run past the middle of a small hole.
    const double radius = std::min(o.searchRadius_px, 0.7 * axesOf(*start).b);
    const Profiles profiles = sampleProfiles(image, guide, std::min(radius + 2.0, 0.9 * axesOf(*start).b));
    if (static_cast<double>(profiles.s.size()) < 0.5 * profiles.wanted)
        return refuse(fmt::format("the {}'s rim leaves the picture", whole ? "hole" : "arc"),
                      whole ? "mark a hole that lies wholly inside" : "mark the part that lies inside");
    const Family family = familyFor(guide, radius);
    const Result<Candidate> chosen =
        meantEdge({guide, family, profiles, placesAlong(guide, rim), true}, o, rivals);
    if (!chosen) return chosen.error();
    sign = chosen->support < 0 ? -1.0 : 1.0;
    const std::vector<Local> places = traceEdge(profiles, family, *chosen, 2.0);
    if (places.size() < std::max<std::size_t>(8, profiles.s.size() / 3))
        return refuse("the rim shows along too little of its way", "mark the part that is clear");
    const std::optional<Ellipse> e = conicThrough(guide, places, {});
    if (!e || axesOf(*e).b < kLeastRadius)
        return refuse("no rim fits here", "place the points nearer to the rim");
    return guideFor(*e, rim, whole);
}

std::vector<std::function<double(double)>> smoothShapes(const EllipseGuide& guide) {
    const double length = guide.length(), scale = guide.sweep() / length;
    std::vector<std::function<double(double)>> out = {[](double) { return 1.0; },
                                                      [scale](double s) { return std::cos(scale * s); },
                                                      [scale](double s) { return std::sin(scale * s); }};
    if (std::abs(guide.sweep()) > 3.1) {
        out.push_back([scale](double s) { return std::cos(2 * scale * s); });
        out.push_back([scale](double s) { return std::sin(2 * scale * s); });
    }
    return out;
}

}  // namespace

Result<Fit> fitRim(const photo::LinearImage& image, const std::vector<Vec2>& rim, bool wholeRim,
                   const FitOptions& options, std::vector<Rival>* rivals) {
    double sign = 1.0;
    Result<EllipseGuide> found = findRim(image, rim, wholeRim, options, sign, rivals);
    if (!found) return found.error();
    EllipseGuide guide = *found;
    CurveOptions co;
    co.sign = sign;
    co.tilts = false;
    CurveFit curve;
    for (int pass = 0; pass < 3; ++pass) {
        const int most = static_cast<int>(guide.length() / kLeastStretch);
        co.stretches = std::clamp(3 * options.stretches, 3, std::max(3, most));
        co.binLength = std::clamp(guide.length() / 24.0, 2.5, 8.0);
        curve = fitAlong(image, guide, co);
        if (pass > 0) dropStrays(curve);
        const std::size_t least = std::max<std::size_t>(wholeRim ? 6 : 3, (co.stretches + 1) / 2);
        if (const auto no = refusal(curve, least)) return *no;
        if (pass == 2) break;
        std::vector<Local> places;
        std::vector<double> sigmas;
        for (const Stretch& s : curve.stretches) {
            places.push_back({s.middle(), s.fit.offset});
            sigmas.push_back(std::max(s.fit.offsetSigma, 0.02));
        }
        const std::optional<Ellipse> e = conicThrough(guide, places, sigmas);
        if (!e || axesOf(*e).b < kLeastRadius)
            return refuse("no rim fits here", "place the points nearer to the rim");
        guide = guideFor(*e, rim, wholeRim);
        co.blurStart = curve.blur;
    }
    // An arc may slide along onto a neighbour, stretch by stretch: in the end the hand must still agree.
    double misfit = 0.0;
    for (const Vec2& p : rim) misfit += std::pow(guide.locate(p).d / options.handSigma_px, 2);
    const double reach = options.chosen[0] ? kChosenReach : kHandReach;
    if (misfit > stats::chiSquareQuantile(reach, static_cast<double>(rim.size())))
        return refuse("the rim found leaves the marked points", "place the points nearer to the rim");
    const Scatter scatter = scatterOf(curve.bins, smoothShapes(guide));
    Fit out = fitOf(curve, guide, scatter, co.binLength);
    for (const FitPoint& p : out.points)
        if (p.sigma_px > 1.0) return refuse("the rim is too faint for its noise", "keep the mark by hand");
    return out;
}

}  // namespace trammel::fit
