// SPDX-License-Identifier: GPL-3.0-or-later
// Conditions as observations: they help where they hold, and the data refute them where they do not.
#include <catch2/catch.hpp>

#include "Bracket.h"
#include "Sample.h"
#include "core/adjust/Adjust.h"

using namespace trammel;
using namespace trammel::adjust;
using survey::ConditionKind;
using test::Bracket;

namespace {

struct Held {
    ConditionKind kind;
    std::vector<std::string> objects;
    double value = 0.0;
};

survey::Survey with(const Bracket& b, const Held& held) {
    survey::Survey s = b.survey;
    survey::Condition c;
    c.id = "C1", c.name = "", c.kind = held.kind, c.measured = {held.value, 0.01};
    for (const auto& name : held.objects) {
        const survey::Level* level = nullptr;
        for (const auto& l : s.levels)
            if (l.name == name) level = &l;
        c.objects.push_back(level ? level->id : b.id(name));
    }
    s.conditions.push_back(c);
    return s;
}

bool accused(const survey::Survey& s, double* off = nullptr) {
    const auto solution = adjust::adjust(s);
    if (!solution) FAIL(solution.error().sentence());
    for (const Suspect& one : solution->suspects)
        if (one.object == "C1") {
            CHECK(one.sentence.find("does not hold") != std::string::npos);
            if (off) *off = one.estimatedError;
            return true;
        }
    return false;
}

}  // namespace

TEST_CASE("conditions that hold on the bracket are not accused") {
    const Bracket b(0.2, 4);
    // By the bracket's formulas: base edges at right angles; the lid's corners 5, 9, 6 in a row at 25 mm.
    for (const Held& held : std::vector<Held>{{ConditionKind::Parallel, {"front", "rear"}},
                                              {ConditionKind::Perpendicular, {"left", "front"}},
                                              {ConditionKind::Equal, {"origin", "axis"}},
                                              {ConditionKind::Pitch, {"lid 5", "lid 9", "lid 6"}},
                                              {ConditionKind::Pitch, {"lid 5", "lid 9", "lid 6"}, 25.0},
                                              {ConditionKind::Symmetrical, {"lid 1", "lid 2", "lid 5"}}})
        CHECK_FALSE(accused(with(b, held)));
}

TEST_CASE("conditions that the bracket breaks are refuted, with by how much") {
    const Bracket b(0.2, 4);
    double off = 0.0;
    CHECK(accused(with(b, {ConditionKind::Equal, {"origin", "fillet"}}), &off));
    CHECK(off == Approx(3.0).margin(0.05));  // radii 3 and 6
    CHECK(accused(with(b, {ConditionKind::Coplanar, {"shelf", "lid"}}), &off));
    CHECK(off == Approx(7.0).margin(0.1));
    CHECK(accused(with(b, {ConditionKind::Pitch, {"lid 5", "lid 9", "lid 6"}, 24.8}), &off));
    CHECK(off == Approx(0.2).margin(0.03));
    CHECK(accused(with(b, {ConditionKind::Parallel, {"front", "ridge"}})));
    CHECK(accused(with(b, {ConditionKind::Concentric, {"origin", "axis"}}), &off));
    CHECK(off == Approx(100.0).margin(1.0));
    CHECK(accused(with(b, {ConditionKind::Tangent, {"rear", "fillet"}})));
}

TEST_CASE("false conditions with a small σ blame no mark and move no dimension, also where marks are weak") {
    // On the sample, marked by hand: holes of 3 mm that a click knows to a tenth.
    const survey::Survey s = test::draw(false, 3);
    const auto before = adjust::adjust(s);
    REQUIRE(before);
    const auto hole = [&](const std::string& name) {
        for (const auto& f : s.features)
            if (f.name == name && f.kind == survey::FeatureKind::Hole) return f.id;
        throw std::runtime_error("no " + name);
    };
    const std::vector<std::pair<ConditionKind, std::vector<Id>>> wrong = {
        {ConditionKind::Equal, {hole("H1"), hole("H7")}},
        {ConditionKind::Concentric, {hole("H7"), hole("H5")}},
        {ConditionKind::Concentric, {hole("H4"), hole("H8")}},
        {ConditionKind::Symmetrical, {hole("H1"), hole("H2"), hole("H8")}}};
    for (const auto& [kind, objects] : wrong) {
        survey::Survey held = s;
        held.conditions.push_back({"C1", "", kind, objects, {0, 0.02}});
        const auto after = adjust::adjust(held);
        if (!after) FAIL(after.error().sentence());
        REQUIRE(after->suspects.size() == before->suspects.size() + 1);
        CHECK(accused(held));
        for (std::size_t d = 0; d < before->dimensions.size(); ++d)
            CHECK(after->dimensions[d].value == Approx(before->dimensions[d].value).margin(1e-6));
    }
}

TEST_CASE("a condition that holds makes a dimension surer, by as much as its σ says") {
    const Bracket b(0.2, 4);
    survey::Survey loose = b.survey;
    // Angle of the left edge to the front: a 0.01 mm square over 70 mm is ± 0.016°.
    loose.dimensions.push_back({"D1", "", survey::Quantity::Angle, {b.id("shelf edge"), b.id("front")}});
    survey::Survey held = with(b, {ConditionKind::Parallel, {"shelf edge", "front"}});
    held.dimensions = loose.dimensions;
    const auto before = adjust::adjust(loose), after = adjust::adjust(held);
    REQUIRE((before && after));
    CHECK(after->dimensions[0].plusMinus < before->dimensions[0].plusMinus);
    CHECK(after->dimensions[0].plusMinus < 2 * 0.01 / 70 * 1.01);
    bool carried = false;
    for (const Carrier& c : after->dimensions[0].carriers) carried = carried || c.object == "C1";
    CHECK(carried);
}
