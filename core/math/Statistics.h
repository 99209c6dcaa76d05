// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace trammel::stats {

/// Quantiles (probability below) and tail probabilities by Boost.Math. Arguments outside a distribution's
/// range give NaN; nothing throws.
double normalQuantile(double probability);
double normalUpperTail(double z);
double chiSquareQuantile(double probability, double dof);
double chiSquareUpperTail(double value, double dof);
/// ln of the above, finite also where the tail itself underflows (leading terms of the asymptotic series,
/// Abramowitz & Stegun 6.5.32).
double logChiSquareUpperTail(double value, double dof);
double studentQuantile(double probability, double dof);
double fisherQuantile(double probability, double dof1, double dof2);

}  // namespace trammel::stats
