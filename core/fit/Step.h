// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <algorithm>
#include <vector>

#include "core/math/Types.h"

namespace trammel::fit {

/// A unit step as pixels see it: a straight boundary blurred by a Gaussian of standard deviation `blur` and
/// integrated over square pixels of side 1. Across the boundary the pixel's square projects to the
/// convolution of two boxes of widths |nx| and |ny|, so with Φ and its first two antiderivatives the response
/// is exact: S(x) = [J(x+p) − J(x+q) − J(x−q) + J(x−p)] / |nx ny|, p, q = (|nx| ± |ny|)/2.
/// Tabulated once and interpolated by cubic Hermite pieces (error < 1e-5 of the step for blur ≥ 0.3 px). The
/// table costs as much as some hundred pixels: Φ and its density are themselves read from a table.
class Step {
  public:
    Step(double blur, const Vec2& normal);

    struct Value {
        double s = 0.0;      ///< response, 0 far on the negative side, 1 far on the positive side
        double slope = 0.0;  ///< dS/dx, 1/px
        double bend = 0.0;   ///< d²S/dx²; by the heat equation dS/dblur = blur · bend
    };
    /// Here, because a fit reads it for every pixel at every step.
    Value at(double x) const {
        if (x <= -reach_) return {0.0, 0.0, 0.0};
        if (x >= reach_) return {1.0, 0.0, 0.0};
        const double f = (x + reach_) * perSpacing_;
        const int i = std::min(static_cast<int>(f), static_cast<int>(table_.size()) - 2);
        const double u = f - i, h = spacing_;
        const Value &a = table_[static_cast<std::size_t>(i)], &b = table_[static_cast<std::size_t>(i) + 1];
        const auto hermite = [&](double y0, double d0, double y1, double d1) {
            const double rise = y1 - y0;
            return y0 + u * (h * d0 + u * (3 * rise - h * (2 * d0 + d1) + u * (h * (d0 + d1) - 2 * rise)));
        };
        return {hermite(a.s, a.slope, b.s, b.slope), hermite(a.slope, a.bend, b.slope, b.bend),
                a.bend + u * (b.bend - a.bend)};
    }
    double blur() const { return blur_; }

  private:
    double blur_, reach_, spacing_, perSpacing_;
    std::vector<Value> table_;
};

}  // namespace trammel::fit
