// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/math/Types.h"

namespace trammel::fit {

/// A unit step as pixels see it: a straight boundary blurred by a Gaussian of standard deviation `blur` and
/// integrated over square pixels of side 1. Across the boundary the pixel's square projects to the
/// convolution of two boxes of widths |nx| and |ny|, so with Φ and its first two antiderivatives the response
/// is exact: S(x) = [J(x+p) − J(x+q) − J(x−q) + J(x−p)] / |nx ny|, p, q = (|nx| ± |ny|)/2.
/// Tabulated once and interpolated by cubic Hermite pieces (error < 1e-5 of the step for blur ≥ 0.3 px).
class Step {
  public:
    Step(double blur, const Vec2& normal);

    struct Value {
        double s = 0.0;      ///< response, 0 far on the negative side, 1 far on the positive side
        double slope = 0.0;  ///< dS/dx, 1/px
        double bend = 0.0;   ///< d²S/dx²; by the heat equation dS/dblur = blur · bend
    };
    Value at(double x) const;
    double blur() const { return blur_; }

  private:
    double blur_, reach_, spacing_;
    std::vector<Value> table_;
};

}  // namespace trammel::fit
