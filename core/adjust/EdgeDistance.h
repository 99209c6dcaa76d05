// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Gradient.h"

/// Distances from edges and directions of edges, with how they change. An edge in a level counts in plan
/// (seen along z), one free in space as a line in space.
namespace trammel::adjust {

/// Signed distance in plan of P from the line of an edge, positive on its left, times `share`, added to
/// `builder`. Returns its change per mm that P moves, for the caller to pass on.
Vec3 addPlanDistance(GradientBuilder& builder, int edge, const Vec3& P, double share);

/// Unsigned distance of P from the edge, in plan or in space; as above.
Vec3 addDistance(GradientBuilder& builder, int edge, const Vec3& P, double share, bool inSpace);

/// Unit vector along an edge and its marked length, in space or in plan (then z = 0).
struct EdgeDirection {
    Vec3 unit;
    double length;
    EdgeDirection(const State& state, const FeatureState& edge, bool inSpace);
};

/// The function changes by d per unit that the edge's unit vector turns.
void addDirection(GradientBuilder& builder, int edge, const EdgeDirection& along, const Vec3& d);

}  // namespace trammel::adjust
