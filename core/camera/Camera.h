// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "core/math/Types.h"

namespace trammel::camera {

/// Pose of a camera: x_cam = R X + t (mm); camera axes x right, y down, z forward.
struct Pose {
    Mat3 R = Mat3::Identity();
    Vec3 t = Vec3::Zero();
    Vec3 centre() const { return -R.transpose() * t; }
};

/// Pinhole with Brown's distortion (Brown 1971), in the convention of OpenCV's projectPoints:
/// x = X/Z, y = Y/Z, r² = x² + y², radial = 1 + k1 r² + k2 r⁴ + k3 r⁶,
/// x' = x·radial + 2 p1 x y + p2 (r² + 2 x²),  y' = y·radial + p1 (r² + 2 y²) + 2 p2 x y,
/// u = c x' + x0,  v = c y' + y0.
struct Constants {
    double c = 0.0;             ///< principal distance, px
    Vec2 pp = Vec2::Zero();     ///< principal point, px of the full frame
    double k1 = 0, k2 = 0, k3 = 0, p1 = 0, p2 = 0;
};

/// Image of a point in front of the camera, px of the full frame; nullopt when it lies behind.
std::optional<Vec2> project(const Constants& k, const Pose& pose, const Vec3& X);

/// x' of the formula above for normalised ideal (x, y), and its derivative if wanted.
Vec2 distort(const Constants& k, const Vec2& xy, Mat2* derivative = nullptr);

/// Ideal normalised coordinates of a full-frame px (Newton's iteration to 1e-13); nullopt where the model
/// is not invertible that far out.
std::optional<Vec2> undistort(const Constants& k, const Vec2& px);

/// Unit direction of the ray through a full-frame px, in camera axes.
std::optional<Vec3> rayDirection(const Constants& k, const Vec2& px);

}  // namespace trammel::camera
