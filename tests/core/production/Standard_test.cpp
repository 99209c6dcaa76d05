// SPDX-License-Identifier: GPL-3.0-or-later
// Tables of ISO 273, ISO 286-1 and ISO 2768-1 against published figures, and what is concluded from them.
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numbers>

#include "Cases.h"
#include "core/standard/ClearanceHoles.h"
#include "core/standard/GeneralTolerance.h"
#include "core/standard/Scale.h"

using namespace trammel;
using namespace trammel::standard;
using trammel::test::Cases;

namespace {

std::string use(double diameter, double plusMinus = 0.0) { return useWords(useOf(diameter, plusMinus)); }

constexpr ToleranceClass kClasses[] = {ToleranceClass::Fine, ToleranceClass::Medium, ToleranceClass::Coarse,
                                       ToleranceClass::VeryCoarse};

}  // namespace

TEST_CASE("clearance holes are those of ISO 273, with the tolerances of ISO 286-1") {
    const Cases holes("iso273-clearance-holes"), grades("iso286-1-holes");
    REQUIRE(holes.rows().size() == clearanceHoles().size());
    for (std::size_t i = 0; i < holes.rows().size(); ++i) {
        const auto& row = holes.rows()[i];
        const ClearanceHole& ours = clearanceHoles()[i];
        CHECK(row.text("thread") == ours.thread);
        CHECK(std::stod(row.text("thread").substr(1)) == ours.size_mm);
        CHECK(row.number("fine_H12_mm") == ours.hole_mm[0]);
        CHECK(row.number("medium_H13_mm") == ours.hole_mm[1]);
        CHECK(row.number("coarse_H14_mm") == ours.hole_mm[2]);
    }
    for (const auto& row : grades.rows())
        for (const double d : {row.number("over") + 1e-6, row.number("up_to")}) {
            CHECK(holeTolerance(Series::Fine, d) == Approx(row.number("IT12") / 1000));
            CHECK(holeTolerance(Series::Medium, d) == Approx(row.number("IT13") / 1000));
            CHECK(holeTolerance(Series::Coarse, d) == Approx(row.number("IT14") / 1000));
        }
}

TEST_CASE("a hole is what its diameter and its doubt allow") {
    CHECK(use(3.2) == "M3 fine (3.2)");
    CHECK(use(3.4) == "M3 medium (3.4)");
    CHECK(use(3.6) == "M3 coarse (3.6)");
    CHECK(use(9.0) == "M8 medium (9)");
    // 3.19 is below H12 of 3.2, and within H14 of 3.1 (3.1 to 3.4); with a doubt of 0.02 it is 3.2.
    CHECK(use(3.19) == "M2.5 coarse (3.1)");
    CHECK(use(3.19, 0.02) == "M3 fine (3.2)");
    // Between M10 coarse with H14 (12.43) and M12 fine (13).
    CHECK(use(12.7) == "passes M10");
    CHECK(use(12.5, 0.1) == "M10 coarse (12)");
    CHECK(use(12.7, 0.31) == "M12 fine (13)");  // may be either; the nearer
    CHECK(use(1.0) == "no standard screw");
    CHECK(use(14.93) == "M12 coarse (14.5)");
    CHECK(use(14.94) == "no standard screw");
    CHECK(use(20.0) == "no standard screw");
    CHECK(use(std::numeric_limits<double>::quiet_NaN()) == "no standard screw");
    CHECK(use(3.2, std::numeric_limits<double>::infinity()) == "no standard screw");
}

TEST_CASE("general tolerances are those of ISO 2768-1") {
    const Cases cases("iso2768-1");  // rows point into it
    for (const auto& row : cases.rows()) {
        const int table = static_cast<int>(row.number("table"));
        const Toleranced what = table == 1   ? Toleranced::Length
                                : table == 2 ? Toleranced::Broken
                                             : Toleranced::Angle;
        const double unit = table == 3 ? std::numbers::pi / 180 / 60 : 1.0;
        const double low = std::nextafter(row.number("over"), 1e9);
        const double high = row.has("up_to") ? row.number("up_to") : 1e5;
        for (const ToleranceClass c : kClasses)
            for (const double size : {low, high}) {
                const std::string column(1, letterOf(c));
                const auto t = permissible(what, c, size);
                REQUIRE(t.has_value() == row.has(column));
                if (t) CHECK(*t == Approx(row.number(column) * unit));
            }
    }
    CHECK_FALSE(permissible(Toleranced::Length, ToleranceClass::Medium, 0.5));
    CHECK_FALSE(permissible(Toleranced::Length, ToleranceClass::VeryCoarse, 4000.1));
}

TEST_CASE("a class is claimed only where every ± is small beside it") {
    using Sizes = std::vector<ToleratedSize>;
    const auto of = [](const Sizes& s) { return className(supportedClass(s)); };
    const ToleratedSize overall{Toleranced::Length, 300.0, 0.06}, hole{Toleranced::Length, 3.2, 0.016};
    CHECK(of({overall, hole}) == "ISO 2768-f");  // 0.06 of 0.2, 0.016 of 0.05
    CHECK(of({overall, {Toleranced::Length, 3.2, 0.017}}) == "ISO 2768-m");
    CHECK(of({overall, {Toleranced::Length, 3.2, 0.09}}) == "ISO 2768-c");
    CHECK(of({overall, {Toleranced::Length, 3.2, 0.16}}) == "ISO 2768-v");
    CHECK(of({overall, {Toleranced::Length, 3.2, 0.17}}) == "none");
    CHECK(of({{Toleranced::Length, 2.0, 0.07}}) == "none");          // v gives nothing for it
    CHECK(of({overall, {Toleranced::Length, 3.2, 0.0}}) == "none");  // an unknown ± proves nothing
    CHECK(of({}) == "none");
    CHECK(of({overall, {Toleranced::Length, 0.4, 0.2}}) == "ISO 2768-f");
    CHECK(of({{Toleranced::Angle, 40.0, 9.0 / 60 * std::numbers::pi / 180}}) == "ISO 2768-f");
    CHECK(of({{Toleranced::Angle, 40.0, 19.0 / 60 * std::numbers::pi / 180}}) == "ISO 2768-c");
}

TEST_CASE("scales are of the 1, 2, 5 series of ISO 5455, largest first") {
    for (std::size_t i = 0; i < kScales.size(); ++i) {
        const auto& s = kScales[i];
        CHECK((s.paper == 1 || s.part == 1));
        const int n = s.paper * s.part;
        const double lead = n / std::pow(10.0, std::floor(std::log10(n)));
        CHECK((lead == 1 || lead == 2 || lead == 5));
        if (i > 0) CHECK(s.factor() < kScales[i - 1].factor());
    }
    CHECK(kScales[6].words() == "1:2");
}
