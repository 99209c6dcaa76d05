// SPDX-License-Identifier: GPL-3.0-or-later
// Slips of a person who types a reading. The values are made up here.
#include "core/adjust/ReadingCause.h"

#include <catch2/catch.hpp>

using namespace trammel;
using adjust::Cause;
using adjust::guessReading;
using survey::Quantity;

TEST_CASE("a slip that turns the reading into what is expected is named") {
    struct Case {
        Quantity quantity;
        double typed, expected, sigma;
        Cause cause;
        double value;
    };
    const std::vector<Case> cases = {
        {Quantity::Distance, 24.17, 21.45, 0.03, Cause::ExchangedDigits, 21.47},
        {Quantity::Distance, 120.5, 102.48, 0.03, Cause::ExchangedDigits, 102.5},
        {Quantity::Distance, 3.937, 100.02, 0.05, Cause::Inches, 99.9998},
        {Quantity::Distance, 2540.0, 100.02, 0.05, Cause::Inches, 100.0},
        {Quantity::Distance, 12.5, 125.03, 0.05, Cause::PowerOfTen, 125.0},
        {Quantity::Diameter, 1.62, 3.25, 0.03, Cause::RadiusForDiameter, 3.24},
        {Quantity::Radius, 6.4, 3.21, 0.03, Cause::RadiusForDiameter, 3.2},
        {Quantity::Distance, 84.17, 24.18, 0.03, Cause::WrongDigit, 24.17},
    };
    for (const Case& c : cases) {
        INFO(c.typed << " for " << c.expected);
        const auto guess = guessReading(c.quantity, c.typed, c.expected, c.sigma);
        CHECK(guess.cause == c.cause);
        CHECK(guess.value == Approx(c.value).epsilon(1e-6));
        CHECK_FALSE(guess.why.empty());
    }
}

TEST_CASE("no slip is named where none fits, or where one would fit by chance") {
    CHECK(guessReading(Quantity::Distance, 24.17, 26.02, 0.03).cause == Cause::Unknown);
    // A radius is no slip in a distance.
    CHECK(guessReading(Quantity::Distance, 26.02, 52.04, 0.02).cause == Cause::Unknown);
    // So wide a ± holds some value with one digit changed whatever was meant.
    CHECK(guessReading(Quantity::Distance, 24.17, 24.9, 0.3).cause == Cause::Unknown);
    CHECK(guessReading(Quantity::Distance, 0.0, 24.9, 0.3).cause == Cause::Unknown);
    CHECK(guessReading(Quantity::Distance, 24.17, -3.0, 0.3).cause == Cause::Unknown);
}
