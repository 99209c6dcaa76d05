// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Growth.h"

#include <algorithm>
#include <cmath>

namespace trammel::fit {

double growthShare(double dark, double light) {
    if (!(light > 0.0)) return 0.0;
    const double s = std::sqrt(std::clamp(dark / light, 0.0, 1.0));
    return (1.0 - s) * (1.0 - 0.38 * s);
}

double growthPerUnit(double blur_px, double dark, double light) {
    return std::sqrt(blur_px * blur_px + 1.0 / 12.0) * growthShare(dark, light);
}

}  // namespace trammel::fit
