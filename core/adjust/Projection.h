// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/State.h"

namespace trammel::adjust {

/// Image of a point (px of the full frame) and its derivatives by everything it depends on.
struct Projected {
    Vec2 u = Vec2::Zero();
    Mat23 byPoint, byRotation;  ///< rotation: left increment, R ← exp(φ) R
    Vec2 byLnScale, byLnKappa;
    Mat2 byG, byPp;
    Eigen::Matrix<double, 2, 5> byBrown;  ///< K1 K2 K3 P1 P2
};

/// False when the point is not in front of the camera.
bool projectPoint(const GroupState& group, const StationState& station, const Vec3& X, Vec2& u);
bool projectPoint(const GroupState& group, const StationState& station, const Vec3& X, Projected& out);
/// Image and its derivative by the point only.
bool projectPoint(const GroupState& group, const StationState& station, const Vec3& X, Vec2& u,
                  Mat23& byPoint);

/// Image of a direction (a point infinitely far along it), given in camera axes, and its derivatives.
struct ProjectedDirection {
    Vec2 u = Vec2::Zero();
    Mat23 byDirection;
    Vec2 byLnKappa;
    Eigen::Matrix<double, 2, 5> byBrown;
};
/// False when the direction does not point into the camera's field.
bool projectDirection(const GroupState& group, const Vec3& direction, ProjectedDirection& out);

}  // namespace trammel::adjust
