// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/camera/Camera.h"

#include <Eigen/LU>

namespace trammel::camera {

std::optional<Vec2> project(const Constants& k, const Pose& pose, const Vec3& X) {
    const Vec3 p = pose.R * X + pose.t;
    if (!(p.z() > 0.0)) return std::nullopt;
    return k.c * distort(k, p.head<2>() / p.z()) + k.pp;
}

Vec2 distort(const Constants& k, const Vec2& xy, Mat2* derivative) {
    const double x = xy.x(), y = xy.y();
    const double r2 = x * x + y * y;
    const double radial = 1.0 + r2 * (k.k1 + r2 * (k.k2 + r2 * k.k3));
    if (derivative) {
        const double slope = 2.0 * (k.k1 + r2 * (2.0 * k.k2 + r2 * 3.0 * k.k3));  // d radial / d(r²) · 2
        (*derivative)(0, 0) = radial + x * slope * x + 2 * k.p1 * y + 6 * k.p2 * x;
        (*derivative)(0, 1) = x * slope * y + 2 * k.p1 * x + 2 * k.p2 * y;
        (*derivative)(1, 0) = y * slope * x + 2 * k.p1 * x + 2 * k.p2 * y;
        (*derivative)(1, 1) = radial + y * slope * y + 6 * k.p1 * y + 2 * k.p2 * x;
    }
    return {x * radial + 2 * k.p1 * x * y + k.p2 * (r2 + 2 * x * x),
            y * radial + k.p1 * (r2 + 2 * y * y) + 2 * k.p2 * x * y};
}

std::optional<Vec2> undistort(const Constants& k, const Vec2& px) {
    const Vec2 target = (px - k.pp) / k.c;
    Vec2 xy = target;
    for (int i = 0; i < 50; ++i) {
        Mat2 j;
        const Vec2 miss = target - distort(k, xy, &j);
        if (!(j.determinant() > 1e-3)) return std::nullopt;  // folded over: no unique inverse
        const Vec2 step = j.inverse() * miss;
        xy += step;
        if (step.squaredNorm() < 1e-28) return xy;
    }
    return (target - distort(k, xy)).norm() < 1e-12 ? std::optional<Vec2>(xy) : std::nullopt;
}

std::optional<Vec3> rayDirection(const Constants& k, const Vec2& px) {
    const auto xy = undistort(k, px);
    if (!xy) return std::nullopt;
    return Vec3(xy->x(), xy->y(), 1.0).normalized();
}

}  // namespace trammel::camera
