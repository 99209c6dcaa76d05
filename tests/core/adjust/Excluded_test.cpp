// SPDX-License-Identifier: GPL-3.0-or-later
// What is left out of use is still tested: with every mark of a feature, or whole photographs, excluded.
#include <catch2/catch.hpp>

#include "Bracket.h"
#include "core/adjust/Adjust.h"

using namespace trammel;
using test::Bracket;

namespace {

/// One sentence that names something, or a solution.
void speaks(const survey::Survey& s) {
    const survey::Survey before = s;
    const auto solution = adjust::adjust(s);
    CHECK(s == before);
    if (solution) return;
    const std::string said = solution.error().sentence();
    INFO(said);
    CHECK_FALSE(solution.error().object.empty());
    CHECK(said.back() == '.');
}

}  // namespace

TEST_CASE("every mark of a feature, or every photograph but some, may be left out") {
    const Bracket b(0.2, 6);
    for (const survey::Feature& f : b.survey.features) {
        survey::Survey s = b.survey;
        for (survey::Mark& m : s.marks) m.excluded = m.feature == f.id;
        CAPTURE(f.name);
        speaks(s);
    }
    for (std::size_t kept = 0; kept < b.survey.stations.size(); ++kept) {
        survey::Survey s = b.survey;
        for (std::size_t i = 0; i < s.stations.size(); ++i) s.stations[i].excluded = i != kept;
        speaks(s);
        for (std::size_t i = 0; i < s.stations.size(); ++i) s.stations[i].excluded = i == kept;
        CHECK(adjust::adjust(s));
    }
}

TEST_CASE("ten thousand marks at one place end in one sentence") {
    Bracket b(0.2, 6);
    const survey::Mark first = b.survey.marks.front();
    for (int i = 0; i < 10000; ++i) {
        survey::Mark m = first;
        m.id = "M" + std::to_string(100000 + i);
        b.survey.marks.push_back(m);
    }
    speaks(b.survey);
}

TEST_CASE("readings that contradict each other are both named, or the wrong one") {
    Bracket b(0.2, 6);
    survey::Reading again = b.survey.readings[0];
    again.id = "R70", again.measured.value += 1.0;
    b.survey.readings.push_back(again);
    const auto solution = adjust::adjust(b.survey);
    REQUIRE(solution);
    REQUIRE_FALSE(solution->suspects.empty());
    bool named = false;
    for (const adjust::Suspect& one : solution->suspects)
        named = named || one.object == "R70" || one.object == "R1";
    CHECK(named);
}

TEST_CASE("a datum on what is left out is refused by name") {
    Bracket b(0.2, 6);
    for (survey::Mark& m : b.survey.marks) m.excluded = m.excluded || m.feature == "F1";
    const auto solution = adjust::adjust(b.survey);
    REQUIRE_FALSE(solution);
    CHECK(solution.error().object == "datum origin");
}

TEST_CASE("jaw flats are refused where they say nothing or cannot be") {
    using survey::Quantity;
    Bracket b(0.0, 6);
    const auto read = [&](Quantity q, const std::string& name, double value, double flat) {
        survey::Survey s = b.survey;
        survey::Reading r;
        r.id = "R80", r.quantity = q, r.objects = {b.id(name)}, r.measured = {value, 0.02},
        r.jawFlat_mm = flat;
        s.readings.push_back(r);
        return adjust::adjust(s);
    };
    CHECK_FALSE(read(Quantity::Radius, "origin", 3.0, 1.0));
    CHECK_FALSE(read(Quantity::Diameter, "origin", 6.0, 6.5));
    // A bore of 6 mm between flats of 2 mm reads √(36 − 4) (Pythagoras); a slot's sides are straight.
    for (const auto& solution :
         {read(Quantity::Diameter, "origin", std::sqrt(32.0), 2.0),
          read(Quantity::Diameter, "slot", 8.0, 2.0),
          read(Quantity::Length, "slot", std::hypot(25.0, 4.0) + std::sqrt(60.0), 2.0)}) {
        REQUIRE(solution);
        CHECK(solution->suspects.empty());
        for (const auto& o : solution->observations)
            if (o.object == "R80") CHECK(std::abs(o.residual[0]) < 1e-4);
    }
    const auto bare = read(Quantity::Diameter, "origin", std::sqrt(32.0), 0.0);
    REQUIRE(bare);
    CHECK_FALSE(bare->suspects.empty());
}
