// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/geometry/Chain.h"

namespace trammel::geometry {

/// An endless straight line. The direction needs no unit length but must not be zero.
struct Line {
    Vec2 point = Vec2::Zero();
    Vec2 direction = Vec2::UnitX();
};

/// Distance of p from the line, positive to the left of its direction. mm.
double signedDistance(const Line& line, const Vec2& p);

/// The point of the line nearest to p.
Vec2 foot(const Line& line, const Vec2& p);

/// Angle between the two lines, 0..π/2 rad.
double angleBetween(const Line& a, const Line& b);

/// Where two lines cross; nothing when the sine of their angle is below `leastSine`.
std::optional<Vec2> intersect(const Line& a, const Line& b, double leastSine = 1e-9);

/// Crossings of line and circle, in order along the line: none, two, or one where they touch within the
/// tolerance (mm) from either side.
std::vector<Vec2> intersect(const Line& line, const Circle& circle, double tolerance_mm = 0.0);

/// Crossings of two circles: none, two, or one where they touch within the tolerance, from outside or inside.
/// Concentric circles have none.
std::vector<Vec2> intersect(const Circle& a, const Circle& b, double tolerance_mm = 0.0);

/// The circle of this radius that touches both lines, of the four such circles the one whose centre is
/// nearest to `near`. Nothing for lines that are parallel.
std::optional<Circle> fillet(const Line& a, const Line& b, double radius, const Vec2& near);

/// The circle of this radius that touches the line and the other circle (from outside or inside), the one
/// whose centre is nearest to `near`. Nothing when none reaches both.
std::optional<Circle> fillet(const Line& line, const Circle& circle, double radius, const Vec2& near);

}  // namespace trammel::geometry
