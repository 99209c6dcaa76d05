// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/fit/Choose.h"
#include "core/fit/CourseFit.h"
#include "core/fit/CurveFit.h"
#include "core/fit/Light.h"
#include "core/fit/ShapeFit.h"
#include "core/fit/SlotShape.h"

namespace trammel::fit {
namespace {

constexpr double kLeastWidth = 5.0;  // px
constexpr double kRoundHand = 0.1;   // how far from round a hand's few points may make the ends
constexpr double kShiftReach = 0.4;  // of the search, in its reach for the width: all points share in a shift
constexpr double kSide = 0.75;       // of the radius off the axis: a point on a side
constexpr double kEndShare = 0.5;    // of the sides' step of light, that an end has
constexpr double kHeldHalf = 0.2;    // radii, by which a refit may change a slot's length freely
constexpr double kFarthestEnd = 3.0;  // lengths of the marked part, where an end was not marked

/// Mean step of light outwards over the half circle at `centre` that looks along `out`.
double stepAround(const photo::LinearImage& image, const Vec2& centre, const Vec2& out, double radius) {
    double sum = 0.0;
    for (int k = -4; k <= 4; ++k) {
        const double a = 0.35 * k;
        const Vec2 n = std::cos(a) * out + std::sin(a) * Vec2(-out.y(), out.x());
        sum += lightAt(image, centre + (radius + 1.5) * n) - lightAt(image, centre + (radius - 1.5) * n);
    }
    return sum / 9.0;
}

/// Mean step of light outwards at the hand's points on the sides.
double stepBeside(const photo::LinearImage& image, const std::vector<Vec2>& rim, const Vec2& centre,
                  const Vec2& across, double radius) {
    double sum = 0.0;
    int count = 0;
    for (const Vec2& p : rim) {
        const double d = across.dot(p - centre);
        if (std::abs(d) < kSide * radius) continue;
        const Vec2 out = std::copysign(4.0, d) * across;
        sum += lightAt(image, p + out) - lightAt(image, p - out);
        ++count;
    }
    return sum / std::max(1, count);
}

/// An end that no hand point marks lies where the half circle's step of light is greatest, of the sides'
/// sign.
std::optional<Vec2> endBeyond(const photo::LinearImage& image, const Vec2& nearest, const Vec2& out,
                              double radius, double farthest, double side) {
    const double sign = side < 0.0 ? -1.0 : 1.0;
    std::optional<Vec2> best;
    double most = 0.0;
    // The outermost point on a side may lie a little way round the end.
    for (double e = -radius; e <= farthest; e += 1.0) {
        const Vec2 c = nearest + e * out;
        const Vec2 tip = c + (radius + 2.0) * out;
        if (tip.x() < 0 || tip.y() < 0 || tip.x() > image.width - 1 || tip.y() > image.height - 1) break;
        const double step = sign * stepAround(image, c, out, radius);
        if (step > most) most = step, best = c;
        if (most > kEndShare * std::abs(side) && step < 0.7 * most) break;  // past it
    }
    return best;
}

/// From the hand's points; the picture says where an end lies that they leave open.
std::optional<SlotShape> startOf(const photo::LinearImage& image, const std::vector<Vec2>& rim) {
    const std::optional<SlotShape> guess = guessSlot(rim);
    if (!guess) return std::nullopt;
    const double r = guess->size();
    const Vec2 u = guess->shape.col(0).normalized(), v(-u.y(), u.x());
    double low = 1e300, high = -1e300;  // of the points on the sides, along the slot
    bool first = false, second = false;
    for (const Vec2& p : rim) {
        const double along = u.dot(p - guess->centre), across = std::abs(v.dot(p - guess->centre));
        if (across > kSide * r) {
            low = std::min(low, along);
            high = std::max(high, along);
        }
    }
    if (low > high) return guess;
    for (const Vec2& p : rim) {
        const double along = u.dot(p - guess->centre);
        if (std::abs(v.dot(p - guess->centre)) > kSide * r) continue;
        if (along < low) first = true;
        if (along > high) second = true;
    }
    if (first && second) return guess;
    Vec2 a = guess->centre - guess->half * r * u, b = guess->centre + guess->half * r * u;
    const double reach = kFarthestEnd * std::max(high - low, 2.0 * r);
    const double side = stepBeside(image, rim, guess->centre, v, r);
    if (!first) a = endBeyond(image, guess->centre + low * u, -u, r, reach, side).value_or(a);
    if (!second) b = endBeyond(image, guess->centre + high * u, u, r, reach, side).value_or(b);
    return SlotShape::plain(a, b, r);
}

/// Width, shift along and across, length. A turn stays within what the trace that follows takes up.
Family familyFor(const SlotShape& shape, const CourseGuide& guide, double reach) {
    const Vec2 u = shape.shape.col(0).normalized(), v(-u.y(), u.x());
    const auto onEnd = [=](const Vec2& p) {
        const double along = u.dot(p - shape.centre) / shape.shape.col(0).norm();
        return std::abs(along) <= shape.half ? 0.0 : along > 0.0 ? 1.0 : -1.0;
    };
    Family f;
    f.shapes = {[](double) { return 1.0; }, [=](double s) { return u.dot(guide.normal(s)); },
                [=](double s) { return v.dot(guide.normal(s)); },
                [=](double s) { return onEnd(guide.point(s)) * u.dot(guide.normal(s)); }};
    const double shift = kShiftReach * reach;
    f.reach = {reach, shift, shift, shift};
    return f;
}

SlotBelief beliefFor(std::size_t points) {
    return {points < 9 ? kRoundHand : 0.0, points < 12 ? 0.0 : 0.003, 0.0};
}

Result<SlotShape> findSlot(const photo::LinearImage& image, const std::vector<Vec2>& rim, const FitOptions& o,
                           double& sign, std::vector<Rival>* rivals) {
    std::optional<SlotShape> start = startOf(image, rim);
    if (!start) return refuse("the slot's points lie on a line", "spread them round its rim");
    if (const auto better = fitSlotShape(rim, *start, {0.02, 0.0, 0.5})) start = better;
    if (2.0 * start->size() < kLeastWidth)
        return refuse("the slot is too narrow to tell its rim", "keep the mark by hand");
    const CourseGuide guide = slotGuide(*start);
    const double radius = std::min(o.searchRadius_px, 0.7 * start->size());
    const Profiles profiles = sampleProfiles(image, guide, std::min(radius + 2.0, 0.9 * start->size()));
    if (static_cast<double>(profiles.s.size()) < 0.5 * profiles.wanted)
        return refuse("the slot leaves the picture", "mark one that lies wholly inside");
    const Family family = familyFor(*start, guide, radius);
    const Result<Candidate> chosen =
        meantEdge({guide, family, profiles, placesAlong(guide, rim), true}, o, rivals);
    if (!chosen) return chosen.error();
    sign = chosen->support < 0 ? -1.0 : 1.0;
    const std::vector<Local> traced = traceEdge(profiles, family, *chosen, 2.0);
    if (traced.size() < std::max<std::size_t>(12, profiles.s.size() / 2))
        return refuse("the rim shows along too little of its way", "mark it where it is clear");
    std::vector<Vec2> places;
    for (const Local& l : traced) places.push_back(guide.point(l.s, l.d));
    const auto shape = fitSlotShape(places, *start, beliefFor(places.size()), {}, true);
    if (!shape || 2.0 * shape->size() < kLeastWidth)
        return refuse("no slot fits here", "place the points nearer to the rim");
    return *shape;
}

}  // namespace

Result<Fit> fitSlot(const photo::LinearImage& image, const std::vector<Vec2>& rim, const FitOptions& o,
                    int points, std::vector<Rival>* rivals) {
    if (rim.size() < 5)
        return Error{ErrorCode::BadValue, "a slot needs at least five rim points", "", "place more"};
    if (const auto no = unusable(image, rim, "slot")) return *no;
    CourseTask task;
    Result<SlotShape> shape = findSlot(image, rim, o, task.sign, rivals);
    if (!shape) return shape.error();
    task.name = "slot";
    task.points = points;
    task.hand = rim;
    task.chosen = o.chosen[0].has_value();
    task.handSigma_px = o.handSigma_px;
    SlotShape& now = *shape;
    task.refit = [&now](const CourseGuide&, const std::vector<Vec2>& places,
                        const std::vector<double>& weights) -> std::optional<CourseGuide> {
        const auto next = fitSlotShape(places, now, {0.0, 0.003, kHeldHalf}, weights);
        if (!next || 2.0 * next->size() < kLeastWidth) return std::nullopt;
        now = *next;
        return slotGuide(now);
    };
    task.shapes = [&now](const CourseGuide& guide, int) {
        std::vector<std::function<double(double)>> out;
        for (std::size_t k = 0; k < 7; ++k)
            out.push_back(
                [&now, &guide, k](double s) { return slotModes(now, now.nearest(guide.point(s)))[k]; });
        return out;
    };
    return fitCourse(image, slotGuide(now), task);
}

}  // namespace trammel::fit
