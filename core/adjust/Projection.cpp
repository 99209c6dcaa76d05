// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Projection.h"

#include <cmath>

#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

/// Ideal image offset q (px from the principal point) and what it was made of.
struct Ideal {
    Vec3 a;  // R X
    Vec2 q;
    double w, m, strength;  // 1 + κ m a_z, m, κ m
};

bool ideal(const GroupState& group, const StationState& s, const Vec3& X, Ideal& out) {
    out.a = s.R * X;
    out.m = std::exp(s.lnScale);
    out.strength = std::exp(group.lnKappa) * out.m;
    out.w = 1.0 + out.strength * out.a.z();
    if (!(out.w > 1e-6)) return false;
    out.q = (out.m * out.a.head<2>() + s.g - group.pp) / out.w;
    return true;
}

/// Brown's distortion in units of ρ, see camera::distort; derivative by n and by the constants.
Vec2 brown(const std::array<double, 5>& K, const Vec2& n, Mat2* byN, Eigen::Matrix<double, 2, 5>* byK) {
    const double x = n.x(), y = n.y(), r2 = n.squaredNorm();
    const double radial = 1.0 + r2 * (K[0] + r2 * (K[1] + r2 * K[2]));
    if (byN) {
        const double slope = 2.0 * (K[0] + r2 * (2.0 * K[1] + r2 * 3.0 * K[2]));
        const double cross = x * slope * y + 2 * K[3] * x + 2 * K[4] * y;
        *byN << radial + x * slope * x + 2 * K[3] * y + 6 * K[4] * x, cross, cross,
            radial + y * slope * y + 6 * K[3] * y + 2 * K[4] * x;
    }
    if (byK) {
        byK->col(0) = n * r2;
        byK->col(1) = n * r2 * r2;
        byK->col(2) = n * r2 * r2 * r2;
        byK->col(3) = Vec2(2 * x * y, r2 + 2 * y * y);
        byK->col(4) = Vec2(r2 + 2 * x * x, 2 * x * y);
    }
    return {x * radial + 2 * K[3] * x * y + K[4] * (r2 + 2 * x * x),
            y * radial + K[3] * (r2 + 2 * y * y) + 2 * K[4] * x * y};
}

Mat23 idealByPoint(const Ideal& i) {
    Mat23 d;
    d.leftCols<2>() = (i.m / i.w) * Mat2::Identity();
    d.col(2) = -i.q * (i.strength / i.w);
    return d;
}

}  // namespace

bool projectPoint(const GroupState& group, const StationState& s, const Vec3& X, Vec2& u) {
    Ideal i;
    if (!ideal(group, s, X, i)) return false;
    u = group.pp + group.rho * brown(group.K, i.q / group.rho, nullptr, nullptr);
    return true;
}

bool projectPoint(const GroupState& group, const StationState& s, const Vec3& X, Vec2& u, Mat23& byPoint) {
    Ideal i;
    if (!ideal(group, s, X, i)) return false;
    Mat2 D;
    u = group.pp + group.rho * brown(group.K, i.q / group.rho, &D, nullptr);
    byPoint = D * idealByPoint(i) * s.R;
    return true;
}

bool projectPoint(const GroupState& group, const StationState& s, const Vec3& X, Projected& out) {
    Ideal i;
    if (!ideal(group, s, X, i)) return false;
    Mat2 D;
    out.u = group.pp + group.rho * brown(group.K, i.q / group.rho, &D, &out.byBrown);
    out.byBrown *= group.rho;
    const Mat23 byA = D * idealByPoint(i);
    out.byPoint = byA * s.R;
    out.byRotation = -byA * skew(i.a);
    const double depthShare = i.strength * i.a.z() / i.w;
    out.byLnScale = D * ((i.m / i.w) * i.a.head<2>() - i.q * depthShare);
    out.byLnKappa = -D * i.q * depthShare;
    out.byG = D / i.w;
    out.byPp = Mat2::Identity() - D / i.w;
    return true;
}

bool projectDirection(const GroupState& group, const Vec3& a, ProjectedDirection& out) {
    if (!(a.z() > 0.1 * a.norm())) return false;
    const double c = std::exp(-group.lnKappa);
    const Vec2 q = c * a.head<2>() / a.z();
    Mat2 D;
    out.u = group.pp + group.rho * brown(group.K, q / group.rho, &D, &out.byBrown);
    out.byBrown *= group.rho;
    Mat23 byA;
    byA.leftCols<2>() = (c / a.z()) * Mat2::Identity();
    byA.col(2) = -q / a.z();
    out.byDirection = D * byA;
    out.byLnKappa = -D * q;
    return true;
}

}  // namespace trammel::adjust
