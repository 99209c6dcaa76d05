// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <Eigen/Core>

namespace trammel {

using Vec2 = Eigen::Vector2d;
using Vec3 = Eigen::Vector3d;
using Mat2 = Eigen::Matrix2d;
using Mat3 = Eigen::Matrix3d;
using Mat23 = Eigen::Matrix<double, 2, 3>;
using VecX = Eigen::VectorXd;
using MatX = Eigen::MatrixXd;

}  // namespace trammel
