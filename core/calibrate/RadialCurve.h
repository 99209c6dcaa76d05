// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>

#include "core/base/Result.h"
#include "core/camera/Camera.h"

namespace trammel::calibrate {

/// The radial models of the lens database (its header: lfDistortionModel). They give the distorted radius of
/// an undistorted one, as Camera.h does:
///   Cubic    r_d = r (1 − k1 + k1 r²)                  "poly3"
///   Quintic  r_d = r (1 + k1 r² + k2 r⁴)               "poly5"
///   Quartic  r_d = r (a r³ + b r² + c r + 1 − a − b − c)
/// r = 1 is half the short side of the frame that the lens was measured on.
enum class RadialKind { Cubic, Quintic, Quartic };

struct RadialCurve {
    RadialKind kind = RadialKind::Cubic;
    std::array<double, 3> terms{};  ///< k1; k1, k2; a, b, c

    double distorted(double r) const { return r * factor(r); }
    double slope(double r) const;  ///< of distorted()
    /// How much larger the middle of the photograph is than that of the corrected picture.
    double middle() const { return factor(0.0); }

  private:
    double factor(double r) const;
};

/// Brown's constants in place of a curve, for a picture of one size.
struct Conversion {
    camera::Constants constants;          ///< principal point in the middle of the picture
    double worst_px = 0.0, rms_px = 0.0;  ///< by which Brown's model misses the curve, over the frame
    double corner_px = 0.0;  ///< by which the lens moves the picture's corners out (+) or in (−)
    /// Ideal x/z that one px of the curve's own corrected picture stands for.
    double idealPerPx = 0.0;
};

/// Least squares over the frame for c, k1, k2, k3, each pixel counting alike. `unit_px` is the length of r
/// = 1. `c_px` is the principal distance that the middle of the photograph shows: the curve knows none, so
/// the nominal one is given; c comes out near it, exactly so where the curve is one of Brown's. Refused where
/// the curve turns back within the frame.
Result<Conversion> toBrown(const RadialCurve& curve, double unit_px, double c_px, int width, int height);

}  // namespace trammel::calibrate
