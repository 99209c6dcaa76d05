// SPDX-License-Identifier: GPL-3.0-or-later
// The test that the coverage campaign relies on, against published critical values.
#include "KolmogorovSmirnov.h"

#include <catch2/catch.hpp>

#include "Cases.h"

using namespace trammel;

TEST_CASE("Kolmogorov and Smirnov's tail gives the published levels at the published distances") {
    const test::Cases cases("kolmogorov-smirnov");
    for (const auto& row : cases.rows()) {
        const double n = row.number("n"), level = row.number("level");
        CAPTURE(n, level);
        const double distance = row.number("distance"), half = row.number("half");
        CHECK(test::kolmogorovSmirnovTail(distance - half, n) > level - 0.004);
        CHECK(test::kolmogorovSmirnovTail(distance + half, n) < level + 0.004);
    }
}

TEST_CASE("the distance is the largest step between sample and uniform distribution") {
    CHECK(test::kolmogorovSmirnov({0.5}) == Approx(0.5));
    CHECK(test::kolmogorovSmirnov({0.9, 0.1}) == Approx(0.4));
    CHECK(test::kolmogorovSmirnov({0.125, 0.375, 0.625, 0.875}) == Approx(0.125));
    CHECK(test::kolmogorovSmirnov({0.8, 0.85, 0.9, 0.95}) == Approx(0.8));
    CHECK(test::kolmogorovSmirnovTail(0.8, 4) < 0.01);
}
