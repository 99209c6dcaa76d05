// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/fit/Choose.h"
#include "core/fit/CourseFit.h"
#include "core/fit/CurveFit.h"
#include "core/fit/ShapeFit.h"

namespace trammel::fit {
namespace {

constexpr double kClosingGap = 1.5;     // in steps between the points
constexpr double kShortest = 16.0;      // px
constexpr double kPointSpacing = 12.0;  // px
constexpr int kFewest = 8, kMost = 48;
// A long curve has many sections, and the worst of them must not be refused for chance alone: the whole is
// judged in the end.
constexpr double kSectionSlack = 1.3;
constexpr double kSteeringNodes = 40.0;   // of the guide, 8 to 24 px apart
constexpr std::size_t kSectionSteps = 3;  // steps between hand points that are searched at once

double stepOf(const std::vector<Vec2>& course) {
    double length = 0.0;
    for (std::size_t i = 1; i < course.size(); ++i) length += (course[i] - course[i - 1]).norm();
    return length / static_cast<double>(course.size() - 1);
}

std::optional<CourseGuide> through(const std::vector<Vec2>& points, bool closed, double spacing,
                                   double stiffness, bool robust, const std::vector<double>& weights = {}) {
    const auto samples = splineThrough(points, {closed, spacing, stiffness, robust}, weights);
    if (!samples) return std::nullopt;
    return CourseGuide(*samples, closed);
}

/// Places of the edge meant in one section, in the picture; `sign` is 0 before the first section.
Result<std::vector<Vec2>> traceSection(const photo::LinearImage& image, const CourseGuide& guide,
                                       const std::vector<Vec2>& hand, const FitOptions& o, double& sign) {
    double tightest = 1e-3;
    for (double s = 0.0; s <= guide.length(); s += 2.0)
        tightest = std::max(tightest, std::abs(guide.curvature(s)));
    const double reach = std::min(o.searchRadius_px, 0.7 / tightest);
    const Profiles profiles = sampleProfiles(image, guide, reach + 2.0);
    if (static_cast<double>(profiles.s.size()) < 0.6 * profiles.wanted)
        return refuse("the curve leaves the picture", "keep it and its surroundings inside");
    const Family family = parabolas(guide.length(), reach);
    const Result<Candidate> chosen =
        meantEdge({guide, family, profiles, placesAlong(guide, hand), false, kSectionSlack}, o, nullptr);
    if (!chosen) return chosen.error();
    const double own = chosen->support < 0 ? -1.0 : 1.0;
    if (sign != 0.0 && own != sign)
        return refuse("the light side of the curve changes along it",
                      "mark the parts as curves of their own");
    sign = own;
    const std::vector<Local> places = traceEdge(profiles, family, *chosen, 2.0);
    if (places.size() < std::max<std::size_t>(6, profiles.s.size() / 3))
        return refuse("the edge shows along too little of the curve", "mark the part that is clear");
    std::vector<Vec2> out;
    for (const Local& l : places) out.push_back(guide.point(l.s, l.d));
    return out;
}

/// Follows the edge section by section, three steps of the hand at a time.
Result<CourseGuide> findCurve(const photo::LinearImage& image, const std::vector<Vec2>& course, bool closed,
                              const FitOptions& o, double& sign) {
    const double step = stepOf(course);
    const auto start = through(course, closed, 0.5 * step, 1e-3, false);
    if (!start) return refuse("the curve's points lie at one place", "spread them along it");
    if (start->length() < kShortest)
        return refuse("the curve is too short to tell its edge", "mark a longer part of it");
    std::vector<double> knots;
    for (const Vec2& p : course) knots.push_back(start->locate(p).s);
    knots.front() = 0.0;
    if (closed)
        knots.push_back(start->length());
    else
        knots.back() = start->length();
    const std::size_t steps = knots.size() - 1, sections = (steps + kSectionSteps - 1) / kSectionSteps;
    std::vector<Vec2> places;
    for (std::size_t k = 0; k < sections; ++k) {
        const std::size_t from = k * steps / sections, to = (k + 1) * steps / sections;
        if (knots[to] - knots[from] < 4.0)
            return refuse("two of the curve's points coincide or run back", "place them in order along it");
        std::vector<Vec2> hand;
        for (std::size_t i = from; i <= to; ++i) hand.push_back(course[i % course.size()]);
        const auto found = traceSection(image, start->part(knots[from], knots[to]), hand, o, sign);
        if (!found) return found.error();
        places.insert(places.end(), found->begin(), found->end());
    }
    const auto followed = through(places, closed, std::clamp(0.5 * step, 6.0, 40.0), 0.05, true);
    if (!followed) return refuse("no curve fits here", "place the points nearer to the edge");
    return *followed;
}

/// Hats a few points apart: smooth enough not to follow the scatter itself.
std::vector<std::function<double(double)>> hats(const CourseGuide& guide, int points) {
    const int count = std::max(3, points / 3);
    const double length = guide.length(), pitch = length / count;
    std::vector<std::function<double(double)>> out;
    for (int k = 0; k < (guide.closed() ? count : count + 1); ++k)
        out.push_back([=, closed = guide.closed()](double s) {
            double gap = std::abs(s - k * pitch);
            if (closed) gap = std::min(gap, length - gap);
            return std::max(0.0, 1.0 - gap / pitch);
        });
    return out;
}

/// The outermost places are the middles of stretches: without ends of their own the curve would shrink.
void keepEnds(const CourseGuide& guide, std::vector<Vec2>& places, std::vector<double>& weights) {
    const double first = guide.locate(places.front()).d, last = guide.locate(places.back()).d;
    places.insert(places.begin(), guide.point(0.0, first));
    places.push_back(guide.point(guide.length(), last));
    weights.insert(weights.begin(), 0.3 * weights.front());
    weights.push_back(0.3 * weights.back());
}

/// The adjustment describes a free curve by a spline with a node for every two points of its mark. What that
/// cannot follow of the curve's bends, px (root mean square), is a doubt of the points: the distance of such
/// a spline from one twice as fine.
double bendDoubt(const std::vector<FitPoint>& points, bool closed) {
    std::vector<Vec2> at;
    for (const FitPoint& p : points) at.push_back(p.px);
    const double step = stepOf(at);
    const auto coarse = through(at, closed, 2.0 * step, 1e-4, false),
               fine = through(at, closed, step, 1e-4, false);
    if (!coarse || !fine) return 0.0;
    double sum = 0.0;
    int count = 0;
    for (double s = 0.0; s <= fine->length(); s += 0.5 * step, ++count)
        sum += std::pow(coarse->locate(fine->point(s)).d, 2);
    return std::sqrt(sum / std::max(1, count));
}

}  // namespace

bool runsRound(const std::vector<Vec2>& course) {
    return course.size() > 3 && (course.front() - course.back()).norm() < kClosingGap * stepOf(course);
}

Result<Fit> fitCurve(const photo::LinearImage& image, const std::vector<Vec2>& course, const FitOptions& o) {
    if (course.size() < 4)
        return Error{ErrorCode::BadValue, "a free curve needs at least four points", "", "place more"};
    if (const auto no = unusable(image, course, "curve")) return *no;
    const bool closed = runsRound(course);
    CourseTask task;
    const Result<CourseGuide> found = findCurve(image, course, closed, o, task.sign = 0.0);
    if (!found) return found.error();
    task.points = std::clamp(static_cast<int>(std::lround(found->length() / kPointSpacing)), kFewest, kMost);
    task.points = std::max(task.points, static_cast<int>(course.size()));
    task.hand = course;
    task.handSigma_px = o.handSigma_px;
    const double spacing = std::clamp(found->length() / kSteeringNodes, 8.0, 24.0);
    task.refit = [=](const CourseGuide& last, std::vector<Vec2> places, std::vector<double> weights) {
        if (!closed) keepEnds(last, places, weights);
        return through(places, closed, spacing, 0.01, false, weights);
    };
    task.shapes = hats;
    Result<Fit> fit = fitCourse(image, *found, task);
    if (!fit) return fit;
    // Neighbours share it, so that their mean still carries it: each takes it twice.
    const double doubt = 2.0 * bendDoubt(fit->points, closed);
    for (FitPoint& p : fit->points) p.sigma_px = std::hypot(p.sigma_px, doubt);
    return fit;
}

}  // namespace trammel::fit
