// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Drawing.h"

#include <algorithm>
#include <cmath>

namespace trammel::drawing {

double Figure::measured() const {
    const Vec2 d = second - first;
    if (kind != FigureKind::Linear) return d.norm();
    return std::abs(d.dot(Vec2(std::cos(angle), std::sin(angle))));
}

double textWidth(const std::string& utf8, double height) {
    const auto letters = std::count_if(utf8.begin(), utf8.end(), [](char c) { return (c & 0xC0) != 0x80; });
    return 0.95 * height * static_cast<double>(letters);
}

}  // namespace trammel::drawing
