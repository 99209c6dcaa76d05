// SPDX-License-Identifier: GPL-3.0-or-later
// Levels that are not flat, on the invented bracket: its shelf tilts, its lid bows, its base is flat.
#include <fmt/core.h>
#include <catch2/catch.hpp>

#include "Bracket.h"
#include "core/adjust/Adjust.h"

using namespace trammel;
using namespace trammel::adjust;
using survey::LevelForm;
using test::Bracket;

namespace {

const LevelShape* shapeOf(const Solution& s, const Id& level, LevelForm form) {
    for (const LevelShape& shape : s.levelShapes)
        if (shape.level == level && shape.form == form) return &shape;
    return nullptr;
}

Solution adjusted(const survey::Survey& s) {
    auto solution = adjust::adjust(s);
    if (!solution) FAIL(solution.error().sentence());
    return *solution;
}

}  // namespace

TEST_CASE("a level that tilts though it is taken as flat is named, with by how much") {
    Bracket b(0.2, 3);
    b.survey.levels[1].form = LevelForm::Flat;
    const Solution s = adjusted(b.survey);
    const LevelShape* shelf = shapeOf(s, "L2", LevelForm::Tilted);
    REQUIRE(shelf);
    CHECK_FALSE(shelf->allowed);
    CHECK(shelf->probability < 1e-4);
    CHECK(shelf->sentence.find("shelf is not flat") != std::string::npos);
    // The marked places span x 15..85 and y 8..51: 0.004 · 70 + 0.002 · 40 mm from one end to the other.
    CHECK(shelf->amount_mm == Approx(0.36).margin(0.08));
}

TEST_CASE("a level that bows though it is taken as a plane is named") {
    Bracket b(0.2, 3);
    b.survey.levels[2].form = LevelForm::Flat;
    const Solution s = adjusted(b.survey);
    const LevelShape* lid = shapeOf(s, "L3", LevelForm::Bowed);
    REQUIRE(lid);
    // From the middle of the short sides, raised by κ·40², to that of the long ones, lowered by κ·25².
    CHECK(lid->amount_mm == Approx(Bracket::kBow * (40 * 40 + 25 * 25)).margin(0.015));
    CHECK(lid->plusMinus_mm < 0.03);
}

TEST_CASE("how much a level does tilt or bow is measured, and its ± covers the truth") {
    int tilt = 0, bow = 0, shows = 0;
    constexpr int kDraws = 40;
    for (unsigned seed = 1; seed <= kDraws; ++seed) {
        const Solution s = adjusted(Bracket(0.2, seed).survey);
        const LevelShape *shelf = shapeOf(s, "L2", LevelForm::Tilted),
                         *lid = shapeOf(s, "L3", LevelForm::Bowed),
                         *even = shapeOf(s, "L3", LevelForm::Tilted);
        REQUIRE((shelf && lid && even && shelf->allowed && lid->allowed));
        shows += even->sentence.find("nothing of it shows") == std::string::npos;
        bow += std::abs(lid->amount_mm - Bracket::kBow * (40 * 40 + 25 * 25)) <= lid->plusMinus_mm;
        // Highest less lowest of the marked places: corner 2 at (80, 10) or the edge's end at (85, 8).
        const double truth = Bracket::shelfZ(85, 8) - Bracket::shelfZ(20, 50);
        tilt += std::abs(shelf->amount_mm - truth) <= shelf->plusMinus_mm;
    }
    fmt::print("  tilt covered in {} of {}, bow in {}\n", tilt, kDraws, bow);
    CHECK(tilt >= 34);
    CHECK(bow >= 34);
    CHECK(shows <= 3);  // the lid does not tilt: 1 % of the draws may say so
}

TEST_CASE("a level that is flat is hardly ever doubted") {
    int doubted = 0;
    constexpr int kDraws = 60;
    for (unsigned seed = 200; seed < 200 + kDraws; ++seed) {
        const Solution s = adjusted(Bracket(0.2, seed).survey);
        doubted += shapeOf(s, "L1", LevelForm::Bowed) != nullptr;
    }
    CHECK(doubted <= 1);  // each at a chance of 0.001 over the levels together
}

TEST_CASE("what photographs from above alone cannot tell of a level is left unsaid") {
    Bracket b(0.2, 5);
    b.survey.levels[1].form = LevelForm::Flat;
    b.survey.levels[2].form = LevelForm::Flat;
    // Top views only, and a depth of each level: nothing sees whether a level tilts.
    for (std::size_t i = 2; i < b.survey.stations.size(); ++i) b.survey.stations[i].excluded = true;
    b.survey.readings.push_back({"R8", "", survey::Quantity::Depth, {"L1", "L2"}, {8, 0.02}});
    b.survey.readings.push_back({"R9", "", survey::Quantity::Depth, {"L1", "L3"}, {15, 0.02}});
    std::erase_if(b.survey.marks,
                  [&](const survey::Mark& m) { return find(b.survey.features, m.feature)->level.empty(); });
    for (const LevelShape& shape : adjusted(b.survey).levelShapes)
        CHECK(shape.plusMinus_mm < 0.5 * shape.amount_mm);
}
