// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <algorithm>

#include "core/math/Types.h"
#include "core/photo/Image.h"

namespace trammel::fit {

/// Light between pixels, bilinear; outside the picture that of its border. For looking only: what is measured
/// is fitted to original pixels.
inline double lightAt(const photo::LinearImage& image, const Vec2& p) {
    const int x = std::clamp(static_cast<int>(p.x()), 0, image.width - 2);
    const int y = std::clamp(static_cast<int>(p.y()), 0, image.height - 2);
    const double u = std::clamp(p.x() - x, 0.0, 1.0), v = std::clamp(p.y() - y, 0.0, 1.0);
    return (1 - v) * ((1 - u) * image.at(x, y) + u * image.at(x + 1, y)) +
           v * ((1 - u) * image.at(x, y + 1) + u * image.at(x + 1, y + 1));
}

}  // namespace trammel::fit
