// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/math/Types.h"

namespace trammel::geometry {

/// A vertex of a plane chain; the piece from this vertex to the next is straight (bulge 0) or an arc.
/// bulge = tan(θ/4) of the included angle θ, positive anticlockwise (DXF reference, group code 42).
struct Vertex {
    Vec2 point = Vec2::Zero();  ///< mm
    double bulge = 0.0;
};

/// A closed chain: the last vertex's piece leads back to the first. Never repeats its first vertex.
struct Chain {
    std::vector<Vertex> vertices;
};

struct Circle {
    Vec2 centre = Vec2::Zero();  ///< mm
    double radius = 0.0;         ///< mm
};

/// Centre and radius of the arc that leaves `from` for `to` with this bulge (≠ 0).
Circle arcOf(const Vec2& from, const Vec2& to, double bulge);

/// Signed area in mm² with arcs exact (positive anticlockwise): shoelace plus circular segments.
double signedArea(const Chain& chain);

/// Length in mm, arcs exact.
double perimeter(const Chain& chain);

/// True when no two pieces touch or cross except neighbours at their common vertex (tolerance in mm).
/// A tangent joint that is off by rounding counts as sound while the pieces part by less than the tolerance.
bool isSimple(const Chain& chain, double tolerance_mm = 1e-9);

/// True when the point lies inside (even-odd, arcs exact).
bool contains(const Chain& chain, const Vec2& point);

/// True when any piece of `a` touches or crosses a piece of `b` (one inside the other does not).
bool touch(const Chain& a, const Chain& b, double tolerance_mm = 1e-9);

/// Axis-parallel bounds with arcs exact.
struct Bounds {
    Vec2 low = Vec2::Zero(), high = Vec2::Zero();
};
Bounds bounds(const Chain& chain);

/// The smallest bounds that hold both.
Bounds united(const Bounds& a, const Bounds& b);

/// The same shape walked the other way (area changes sign).
Chain reversed(const Chain& chain);

/// x → −x, as seen from the other face; keeps the sense of rotation (area keeps its sign).
Chain mirrored(const Chain& chain);

/// A full circle as two half circles, anticlockwise.
Chain circleChain(const Circle& circle);

}  // namespace trammel::geometry
