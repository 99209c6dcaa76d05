// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <algorithm>
#include <cmath>
#include <vector>

/// Kolmogorov and Smirnov's test of a sample against a known distribution.
namespace trammel::test {

/// Largest distance between the sample's distribution and the uniform one on 0..1 (put the sample through the
/// distribution function it is to be tested against first).
inline double kolmogorovSmirnov(std::vector<double> u) {
    std::sort(u.begin(), u.end());
    const double n = static_cast<double>(u.size());
    double d = 0.0;
    for (std::size_t i = 0; i < u.size(); ++i)
        d = std::max({d, (static_cast<double>(i) + 1) / n - u[i], u[i] - static_cast<double>(i) / n});
    return d;
}

/// Probability of a distance at least as large by chance: Kolmogorov's series (1933) with the sample size put
/// in as Stephens (1970, J. Roy. Statist. Soc. B 32) has it: good to a few units of the third decimal from n
/// = 5 on.
inline double kolmogorovSmirnovTail(double distance, double n) {
    const double root = std::sqrt(n), x = (root + 0.12 + 0.11 / root) * distance;
    if (x < 0.2) return 1.0;  // the series needs many terms where the answer is 1 to twelve decimals
    double sum = 0.0;
    for (int k = 1; k <= 100; ++k) sum += (k % 2 ? 2.0 : -2.0) * std::exp(-2.0 * k * k * x * x);
    return std::clamp(sum, 0.0, 1.0);
}

}  // namespace trammel::test
