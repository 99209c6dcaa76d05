// SPDX-License-Identifier: GPL-3.0-or-later
// The pixel's response to a blurred step against two-dimensional quadrature of the definition.
#include "core/fit/Step.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

using namespace trammel;
using trammel::fit::Step;

namespace {

/// Mean of Φ(n·p/σ) over the unit square about x along the normal: midpoint rule, 200 × 200.
double byQuadrature(double x, double blur, const Vec2& n) {
    const int k = 200;
    double sum = 0.0;
    for (int j = 0; j < k; ++j)
        for (int i = 0; i < k; ++i) {
            const Vec2 q((i + 0.5) / k - 0.5, (j + 0.5) / k - 0.5);
            sum += 0.5 * std::erfc(-(x + n.dot(q)) / (blur * std::numbers::sqrt2));
        }
    return sum / (k * k);
}

}  // namespace

TEST_CASE("Step response and its derivatives") {
    for (const double angle : {0.0, 0.01, 0.04, 0.3, std::numbers::pi / 4, 1.2, std::numbers::pi / 2, 2.8})
        for (const double blur : {0.3, 0.5, 1.0, 2.5}) {
            const Vec2 n(std::cos(angle), std::sin(angle));
            const Step step(blur, n);
            INFO("angle " << angle << " blur " << blur);
            for (const double x : {-3.1, -0.77, -0.2, 0.0, 0.13, 0.5, 1.4}) {
                CHECK(step.at(x).s == Approx(byQuadrature(x, blur, n)).margin(5e-5));
                const double h = 1e-3;
                CHECK(step.at(x).slope ==
                      Approx((step.at(x + h).s - step.at(x - h).s) / (2 * h)).margin(2e-3));
                CHECK(step.at(x).bend ==
                      Approx((step.at(x + h).slope - step.at(x - h).slope) / (2 * h)).margin(2e-2));
                // Heat equation: the derivative by the blur is blur times the bend.
                const double byBlur = (byQuadrature(x, blur + h, n) - byQuadrature(x, blur - h, n)) / (2 * h);
                CHECK(blur * step.at(x).bend == Approx(byBlur).margin(5e-3));
            }
            CHECK(step.at(-50).s == 0.0);
            CHECK(step.at(50).s == 1.0);
        }
}
