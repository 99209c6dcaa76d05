// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

namespace trammel::drawing {

/// Decimals that show ± with two significant digits (JCGM 100, 7.2.6), 0 to 6; 3 where there is no ±.
int decimalsFor(double plusMinus);

/// "25.400 ±0.012": the value to the same decimals as its ±. Without a ± (0, negative or not finite) the
/// value alone, to three decimals.
std::string withPlusMinus(double value, double plusMinus);

/// A number to so many decimals, '.' whatever the locale, never "-0.00".
std::string fixed(double value, int decimals);

}  // namespace trammel::drawing
