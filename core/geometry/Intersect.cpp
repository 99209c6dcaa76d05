// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/geometry/Intersect.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace trammel::geometry {
namespace {

double cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }
Vec2 left(const Vec2& d) { return {-d.y(), d.x()}; }

void keepNearest(std::optional<Vec2>& best, const Vec2& candidate, const Vec2& near) {
    if (!best || (candidate - near).squaredNorm() < (*best - near).squaredNorm()) best = candidate;
}

std::optional<Circle> circleAt(const std::optional<Vec2>& centre, double radius) {
    if (!centre) return std::nullopt;
    return Circle{*centre, radius};
}

}  // namespace

double signedDistance(const Line& line, const Vec2& p) {
    return cross(line.direction.normalized(), p - line.point);
}

Vec2 foot(const Line& line, const Vec2& p) {
    const Vec2 u = line.direction.normalized();
    return line.point + (p - line.point).dot(u) * u;
}

double angleBetween(const Line& a, const Line& b) {
    const Vec2 u = a.direction.normalized(), v = b.direction.normalized();
    return std::atan2(std::abs(cross(u, v)), std::abs(u.dot(v)));
}

std::optional<Vec2> intersect(const Line& a, const Line& b, double leastSine) {
    const Vec2 u = a.direction.normalized(), v = b.direction.normalized();
    const double sine = cross(u, v);
    if (!(std::abs(sine) > leastSine)) return std::nullopt;
    return a.point + cross(b.point - a.point, v) / sine * u;
}

std::vector<Vec2> intersect(const Line& line, const Circle& circle, double tolerance) {
    const Vec2 f = foot(line, circle.centre);
    const double d = (f - circle.centre).norm(), r = circle.radius;
    if (d > r + tolerance) return {};
    const double half = d < r ? std::sqrt((r - d) * (r + d)) : 0.0;
    if (half <= tolerance) return {f};
    const Vec2 u = line.direction.normalized();
    return {f - half * u, f + half * u};
}

std::vector<Vec2> intersect(const Circle& a, const Circle& b, double tolerance) {
    const Vec2 between = b.centre - a.centre;
    const double d = between.norm();
    if (d == 0.0) return {};
    const double outside = d - (a.radius + b.radius), inside = std::abs(a.radius - b.radius) - d;
    if (outside > tolerance || inside > tolerance) return {};
    const Vec2 u = between / d;
    // Distance from a's centre to the chord, written so that it does not cancel for unequal radii.
    const double along = 0.5 * (d + (a.radius - b.radius) * (a.radius + b.radius) / d);
    const double h2 = (a.radius - along) * (a.radius + along);
    if (h2 <= tolerance * tolerance) return {a.centre + std::copysign(a.radius, along) * u};
    const double h = std::sqrt(h2);
    return {a.centre + along * u - h * left(u), a.centre + along * u + h * left(u)};
}

std::optional<Circle> fillet(const Line& a, const Line& b, double radius, const Vec2& near) {
    std::optional<Vec2> best;
    const Vec2 na = left(a.direction.normalized()), nb = left(b.direction.normalized());
    for (const double sa : {-1.0, 1.0})
        for (const double sb : {-1.0, 1.0}) {
            const auto c = intersect(Line{a.point + sa * radius * na, a.direction},
                                     Line{b.point + sb * radius * nb, b.direction});
            if (c) keepNearest(best, *c, near);
        }
    return circleAt(best, radius);
}

std::optional<Circle> fillet(const Line& line, const Circle& circle, double radius, const Vec2& near) {
    std::optional<Vec2> best;
    const Vec2 n = left(line.direction.normalized());
    for (const double side : {-1.0, 1.0})
        for (const double reach : {circle.radius + radius, std::abs(circle.radius - radius)})
            for (const Vec2& c : intersect(Line{line.point + side * radius * n, line.direction},
                                           Circle{circle.centre, reach}))
                keepNearest(best, c, near);
    return circleAt(best, radius);
}

}  // namespace trammel::geometry
