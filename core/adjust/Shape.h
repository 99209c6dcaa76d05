// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/State.h"

/// The features as curves in space: one place that knows what each kind's unknowns are and how a point of it
/// moves with them.
namespace trammel::adjust {

/// A point of the curve at parameter τ, its tangent dX/dτ and curvature d²X/dτ² (mm).
struct CurvePoint {
    Vec3 X = Vec3::Zero(), tangent = Vec3::Zero(), bend = Vec3::Zero();
};

/// τ: 0 at a and 1 at b of an edge; angle (rad) on a circle; on a slot arc length along the rim, from the
/// beginning of the side a→b on its right; on a free curve the number of the node, between nodes in
/// proportion. A corner has no τ.
CurvePoint curveAt(const State& state, const FeatureState& feature, double tau);

/// Derivatives of the point X at τ by the feature's own unknowns, in the order of their columns, with those
/// of the level's height and form. The part along the tangent is of no use to anybody and may be left out.
struct PointDerivatives {
    static constexpr int kMost = 16;
    int count = 0;
    std::array<int, kMost> column{};
    std::array<Vec3, kMost> byColumn{};
    void add(int c, const Vec3& d) {
        if (c < 0) return;
        column[at(count)] = c;
        byColumn[at(count)] = d;
        ++count;
    }

  private:
    static std::size_t at(int i) { return static_cast<std::size_t>(i); }
};
PointDerivatives derivativesAt(const State& state, const Columns& columns, int feature, double tau,
                               const Vec3& X);

/// Derivatives of a point of the feature that moves as given with x and y, z following the level.
/// Of corners, centres, and middles of edges and curves: State::point.
PointDerivatives pointDerivatives(const State& state, const Columns& columns, int feature);

/// How many of a kind's unknowns are its own (Columns::features; a free curve's nodes are elsewhere).
int ownUnknowns(survey::FeatureKind kind, bool inLevel);

/// Two axes in the plane of a circle free in space.
void circleFrame(const FeatureState& circle, Vec3& e1, Vec3& e2);

/// Across a free edge: two unit vectors perpendicular to it and to each other.
void edgeFrame(const FeatureState& edge, Vec3& n1, Vec3& n2);

/// Ends of an edge in space.
Vec3 edgeStart(const State& state, const FeatureState& edge);
Vec3 edgeEnd(const State& state, const FeatureState& edge);

/// Moves the feature by its own unknowns' increments (and a free curve's nodes by theirs).
void moveFeature(FeatureState& feature, const std::array<double, 6>& own, const VecX& nodes);

/// τ of a first guess for the foot of a point given on the level's plane (x, y).
double nearestTau(const FeatureState& feature, const Vec2& xy);

}  // namespace trammel::adjust
