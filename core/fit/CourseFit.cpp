// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/CourseFit.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/fit/Choose.h"
#include "core/fit/CurveFit.h"
#include "core/fit/Scatter.h"
#include "core/math/Statistics.h"

namespace trammel::fit {
namespace {

constexpr int kSteering = 48;

double misfitOf(const CourseGuide& guide, const CourseTask& task) {
    double sum = 0.0;
    for (const Vec2& p : task.hand) {
        const Local at = guide.locate(p);
        // Beyond the end of an open curve only the distance across counts: the ends are the hand's.
        sum += std::pow(at.d / task.handSigma_px, 2);
    }
    return sum;
}

}  // namespace

std::optional<Error> unusable(const photo::LinearImage& image, const std::vector<Vec2>& hand,
                              const char* name) {
    for (const Vec2& p : hand)
        if (!p.allFinite())
            return Error{ErrorCode::BadValue, fmt::format("the {}'s coordinates are not finite", name), "",
                         "place the points again"};
    if (image.width < 8 || image.height < 8 ||
        image.data.size() < static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height))
        return refuse("the picture is too small", "use the original photograph");
    return std::nullopt;
}

Result<Fit> fitCourse(const photo::LinearImage& image, CourseGuide guide, const CourseTask& task) {
    CurveOptions co;
    co.sign = task.sign;
    co.tilts = false;
    CurveFit curve;
    for (int pass = 0; pass < 3; ++pass) {
        const int most = static_cast<int>(guide.length() / task.leastStretch_px);
        // More places than points asked for steer the guide: an end of a slot needs several.
        const int wanted = pass < 2 ? std::max(task.points, std::min(kSteering, most / 2)) : task.points;
        co.stretches = std::clamp(wanted, 4, std::max(4, most));
        co.binLength = std::clamp(guide.length() / co.stretches / 3.0, 2.5, 8.0);
        curve = fitAlong(image, guide, co);
        if (pass > 0) dropStrays(curve);
        const std::size_t least = static_cast<std::size_t>(std::max(4, (co.stretches + 1) / 2));
        if (const auto no = refusal(curve, least)) return *no;
        if (pass == 2) break;
        std::vector<Vec2> places;
        std::vector<double> weights;
        for (const Stretch& s : curve.stretches) {
            places.push_back(guide.point(s.middle(), s.fit.offset));
            weights.push_back(1.0 / std::pow(std::max(s.fit.offsetSigma, 0.02), 2));
        }
        std::optional<CourseGuide> next = task.refit(guide, places, weights);
        if (!next)
            return refuse(fmt::format("no {} fits here", task.name), "place the points nearer to the edge");
        guide = std::move(*next);
        co.blurStart = curve.blur;
    }
    // Stretch by stretch a guide may slide onto a neighbour: in the end the hand must still agree.
    const double reach = task.chosen ? kChosenReach : kHandReach;
    if (misfitOf(guide, task) > stats::chiSquareQuantile(reach, static_cast<double>(task.hand.size())))
        return refuse(fmt::format("the {} found leaves the marked points", task.name),
                      "place the points nearer to the edge");
    const Scatter scatter = scatterOf(curve.bins, task.shapes(guide, co.stretches));
    Fit out = fitOf(curve, guide, scatter, co.binLength);
    for (const FitPoint& p : out.points)
        if (p.sigma_px > 1.0) return refuse("the edge is too faint for its noise", "keep the mark by hand");
    return out;
}

}  // namespace trammel::fit
