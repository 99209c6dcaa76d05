// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/math/Types.h"

namespace trammel {

/// Cross-product matrix: skew(a) b = a × b.
Mat3 skew(const Vec3& a);

/// Rotation by |w| rad about w (Rodrigues' formula), exact also near zero.
Mat3 rotationExp(const Vec3& w);

/// Inverse of rotationExp, |result| ≤ π (Shepperd's quaternion, well-behaved near 0 and π).
Vec3 rotationLog(const Mat3& r);

/// The rotation nearest to `m` in the Frobenius norm (SVD; Kabsch 1976).
Mat3 nearestRotation(const Mat3& m);

}  // namespace trammel
