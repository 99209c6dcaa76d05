// SPDX-License-Identifier: GPL-3.0-or-later
// The tail that ranks the suspects.
#include <catch2/catch.hpp>
#include <cmath>

#include "core/math/Statistics.h"

using namespace trammel::stats;

TEST_CASE("the logarithm of the chi-square tail equals the tail, and goes on where the tail underflows") {
    // Only leading terms of the series are taken: two per mille of the tail, plenty to rank with.
    for (const double dof : {1.0, 2.0, 3.0, 7.0, 12.0, 24.0})
        for (const double value : {0.0, 0.1, 1.0, 5.0, 20.0, 100.0, 600.0, 1200.0})
            CHECK(logChiSquareUpperTail(value, dof) ==
                  Approx(std::log(chiSquareUpperTail(value, dof))).epsilon(1e-12).margin(2e-3));
    // Two degrees of freedom: exp(−x/2) exactly. One: erfc(√(x/2)), here by its continued bound
    // (Abramowitz & Stegun 7.1.13): 2/(√π (z + √(z² + 2))) < e^{z²} erfc z ≤ 2/(√π (z + √(z² + 4/π))).
    for (const double value : {10.0, 1e3, 1e4, 1e6}) {
        CHECK(logChiSquareUpperTail(value, 2) == Approx(-value / 2).epsilon(1e-12));
        const double z = std::sqrt(value / 2), root = std::sqrt(std::acos(-1.0));
        const double lower = -z * z + std::log(2 / (root * (z + std::sqrt(z * z + 2))));
        const double upper = -z * z + std::log(2 / (root * (z + std::sqrt(z * z + 4 / std::acos(-1.0)))));
        const double slack = 1e-9 * value + 1e-5;
        CHECK(logChiSquareUpperTail(value, 1) >= lower - slack);
        CHECK(logChiSquareUpperTail(value, 1) <= upper + slack);
    }
    // Never rises with the value, also across the change of method.
    for (const double dof : {1.0, 5.0, 24.0}) {
        double last = 0.0;
        for (double value = 0.0; value < 4000; value += 7.3) {
            const double now = logChiSquareUpperTail(value, dof);
            CHECK(now <= last + 1e-12);
            last = now;
        }
    }
}
