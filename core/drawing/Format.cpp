// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Format.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace trammel::drawing {
namespace {

constexpr int kMostDecimals = 6;

bool known(double plusMinus) { return std::isfinite(plusMinus) && plusMinus > 0; }

}  // namespace

int decimalsFor(double plusMinus) {
    if (!known(plusMinus)) return 3;
    // Rounded first: 0.0996 has to print as 0.10, not 0.100.
    const std::string rounded = fmt::format("{:.1e}", plusMinus);
    const int exponent = std::atoi(rounded.c_str() + rounded.find('e') + 1);
    return std::clamp(1 - exponent, 0, kMostDecimals);
}

std::string fixed(double value, int decimals) {
    std::string s = fmt::format("{:.{}f}", value, decimals);
    if (s[0] == '-' && s.find_first_of("123456789") == std::string::npos) s.erase(0, 1);
    return s;
}

std::string withPlusMinus(double value, double plusMinus) {
    const int decimals = decimalsFor(plusMinus);
    if (!known(plusMinus)) return fixed(value, decimals);
    const double least = std::pow(10.0, -kMostDecimals);
    return fixed(value, decimals) + " ±" + fixed(std::max(plusMinus, least), decimals);
}

}  // namespace trammel::drawing
