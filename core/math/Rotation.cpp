// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/math/Rotation.h"

#include <Eigen/Geometry>
#include <Eigen/SVD>

namespace trammel {

Mat3 skew(const Vec3& a) {
    Mat3 m;
    m << 0, -a.z(), a.y(), a.z(), 0, -a.x(), -a.y(), a.x(), 0;
    return m;
}

Mat3 rotationExp(const Vec3& w) {
    const double angle = w.norm();
    if (angle < 1e-12) return Mat3::Identity() + skew(w);
    return Eigen::AngleAxisd(angle, w / angle).toRotationMatrix();
}

Vec3 rotationLog(const Mat3& r) {
    Eigen::Quaterniond q(r);
    if (q.w() < 0) q.coeffs() = -q.coeffs();
    const double s = q.vec().norm();
    if (s < 1e-12) return 2.0 * q.vec();
    return 2.0 * std::atan2(s, q.w()) / s * q.vec();
}

Mat3 nearestRotation(const Mat3& m) {
    Eigen::JacobiSVD<Mat3> svd(m, Eigen::ComputeFullU | Eigen::ComputeFullV);
    Mat3 u = svd.matrixU();
    if ((u * svd.matrixV().transpose()).determinant() < 0) u.col(2) *= -1;
    return u * svd.matrixV().transpose();
}

}  // namespace trammel
