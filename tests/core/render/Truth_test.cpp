// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Truth.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "Scenes.h"

using namespace trammel;
using namespace trammel::render;
using survey::Quantity;

// Figures worked by hand from the coordinates in the sample's scene file.
TEST_CASE("the truth measures as a ruler would on the scene file") {
    const Truth truth = truthOf(test::sample());
    const auto value = [&](Quantity quantity, std::vector<std::string> names) {
        std::vector<survey::Id> ids;
        for (const auto& name : names) ids.push_back(truth.ids.at(name));
        const auto result = truth.value(quantity, ids);
        return result ? *result : -1e9;
    };
    CHECK(value(Quantity::Distance, {"E14", "E7"}) == Approx(300.0));
    CHECK(value(Quantity::Distance, {"E1", "E13"}) == Approx(220.0));
    CHECK(value(Quantity::Distance, {"H1", "H3"}) == Approx(std::hypot(280.0, 200.0)));
    CHECK(value(Quantity::Distance, {"H1", "E14"}) == Approx(8.0));
    CHECK(value(Quantity::Diameter, {"H7"}) == Approx(8.0));
    CHECK(value(Quantity::Radius, {"A6"}) == Approx(28.0));
    CHECK(value(Quantity::OffsetX, {"H1", "H2"}) == Approx(250.0));
    CHECK(value(Quantity::OffsetY, {"H3", "H1"}) == Approx(-200.0));
    CHECK(value(Quantity::Height, {"coil"}) == Approx(-14.0));
    CHECK(value(Quantity::Depth, {"heat sink", "coil"}) == Approx(52.0));
    CHECK(value(Quantity::Angle, {"E5", "E6"}) == Approx(std::atan(1.0)));
    CHECK(value(Quantity::Tape, {"top"}) == Approx(5010.0).margin(5.0));
    CHECK(value(Quantity::Diameter, {"C1"}) == 0.0);
    CHECK_FALSE(truth.value(Quantity::Distance, {"F1"}));
    CHECK_FALSE(truth.value(Quantity::Diameter, {"F999"}));
    CHECK_FALSE(truth.value(Quantity::Tape, {}));
}
