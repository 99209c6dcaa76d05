// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Format.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <locale>

using namespace trammel::drawing;

// JCGM 100:2008, 7.2.6 (from memory): two significant digits of the uncertainty suffice; the value is rounded
// to the same place.
TEST_CASE("± has two significant digits and the value as many decimals") {
    CHECK(withPlusMinus(25.4, 0.0123) == "25.400 ±0.012");
    CHECK(withPlusMinus(25.4, 0.0996) == "25.40 ±0.10");
    CHECK(withPlusMinus(25.4, 0.00996) == "25.400 ±0.010");
    CHECK(withPlusMinus(1234.5678, 12.3) == "1235 ±12");
    CHECK(withPlusMinus(1234.5678, 1.26) == "1234.6 ±1.3");
    CHECK(withPlusMinus(1234.5678, 250) == "1235 ±250");
    CHECK(withPlusMinus(-14.0, 0.02) == "-14.000 ±0.020");
    CHECK(withPlusMinus(-0.0001, 0.02) == "0.000 ±0.020");
    CHECK(withPlusMinus(3.2, 1e-9) == "3.200000 ±0.000001");
    for (const double none : {0.0, -1.0, std::nan(""), std::numeric_limits<double>::infinity()})
        CHECK(withPlusMinus(25.4, none) == "25.400");
}

TEST_CASE("numbers do not follow the locale") {
    struct Comma : std::numpunct<char> {
        char do_decimal_point() const override { return ','; }
        char do_thousands_sep() const override { return '.'; }
        std::string do_grouping() const override { return "\3"; }
    };
    const std::locale before = std::locale::global(std::locale(std::locale::classic(), new Comma));
    CHECK(fixed(1234.5, 2) == "1234.50");
    CHECK(withPlusMinus(25.4, 0.0123) == "25.400 ±0.012");
    std::locale::global(before);
}
