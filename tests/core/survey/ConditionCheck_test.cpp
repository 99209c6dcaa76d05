// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <functional>

#include "core/survey/Check.h"
#include "core/survey/Edit.h"

using namespace trammel;
using namespace trammel::survey;

namespace {

/// Two levels, three edges, three holes, a corner, a free curve; no marks, which conditions do not need.
Survey plate() {
    Survey s;
    s.levels = {{"L1", "face"}, {"L2", "shelf"}};
    for (const char* id : {"F1", "F2", "F3"}) s.features.push_back({id, "", FeatureKind::Edge, "L1"});
    for (const char* id : {"F4", "F5", "F6"}) s.features.push_back({id, "", FeatureKind::Hole, "L1"});
    s.features.push_back({"F7", "", FeatureKind::Corner, "L2"});
    s.features.push_back({"F8", "", FeatureKind::Curve, "L1"});
    return s;
}

std::string finding(const Condition& c) {
    Survey s = plate();
    const auto done = apply(s, {"hold", {Put<Condition>{c}}});
    if (done) return "";
    CHECK(s == plate());  // nothing lost, nothing half done
    return done.error().sentence();
}

}  // namespace

TEST_CASE("each kind of condition takes its objects and no others") {
    using K = ConditionKind;
    const std::vector<std::pair<K, std::vector<Id>>> sound = {{K::Parallel, {"F1", "F2"}},
                                                              {K::Perpendicular, {"F1", "F3"}},
                                                              {K::Concentric, {"F4", "F5"}},
                                                              {K::Equal, {"F4", "F5", "F6"}},
                                                              {K::Coplanar, {"L1", "L2"}},
                                                              {K::Symmetrical, {"F4", "F5", "F1"}},
                                                              {K::Symmetrical, {"F4", "F5", "F7"}},
                                                              {K::Symmetrical, {"F1", "F2", "F3"}},
                                                              {K::Pitch, {"F4", "F5", "F6"}},
                                                              {K::Tangent, {"F1", "F4"}},
                                                              {K::Tangent, {"F4", "F1"}}};
    for (const auto& [kind, objects] : sound) CHECK(finding({"C1", "", kind, objects, {0, 0.02}}).empty());
    const std::vector<std::pair<K, std::vector<Id>>> unsound = {
        {K::Parallel, {"F1", "F4"}},      {K::Parallel, {"F1"}},
        {K::Concentric, {"F4", "F7"}},    {K::Coplanar, {"L1"}},
        {K::Pitch, {"F4", "F5"}},         {K::Tangent, {"F1", "F2"}},
        {K::Tangent, {"F4", "F5"}},       {K::Symmetrical, {"F1", "F4", "F2"}},
        {K::Equal, {"F4", "F4"}},         {K::Symmetrical, {"F1", "F2", "F4"}},
        {K::Equal, {"F4", "F8"}},         {K::Coplanar, {"L1", "F1"}},
        {K::Perpendicular, {"F1", "F99"}}};
    for (const auto& [kind, objects] : unsound) {
        const std::string said = finding({"C1", "", kind, objects, {0, 0.02}});
        INFO(said);
        CHECK(said.find("condition") != std::string::npos);
        CHECK(std::count(said.begin(), said.end(), '.') == 1);
    }
    CHECK(finding({"C1", "", K::Pitch, {"F4", "F5"}, {12.5, 0.02}}).empty());  // a known step needs two only
}

TEST_CASE("a condition's numbers must make sense") {
    const double nan = std::nan("");
    for (const Measured bad : {Measured{0, 0}, {0, -1}, {0, nan}, {nan, 0.02}, {-3, 0.02}})
        CHECK_FALSE(finding({"C1", "", ConditionKind::Pitch, {"F4", "F5", "F6"}, bad}).empty());
}

TEST_CASE("conditions that contradict each other are named, whatever the marks say") {
    Survey s = plate();
    s.conditions = {{"C1", "", ConditionKind::Parallel, {"F1", "F2"}},
                    {"C2", "square", ConditionKind::Perpendicular, {"F2", "F1"}}};
    const auto faults = check(s);
    REQUIRE(faults.size() == 1);
    CHECK(faults[0].sentence() ==
          "condition \"perpendicular\" square: contradicts condition \"parallel\" C1 on "
          "the same objects; remove one of them.");
    s.conditions[1].excluded = true;
    CHECK(check(s).empty());
    s.conditions = {{"C1", "", ConditionKind::Pitch, {"F4", "F5"}, {10, 0.02}},
                    {"C2", "", ConditionKind::Pitch, {"F4", "F5"}, {12, 0.02}}};
    CHECK(check(s).size() == 1);
}

TEST_CASE("a condition goes with what it names, and comes back with it") {
    Survey s = plate();
    s.conditions = {{"C1", "", ConditionKind::Parallel, {"F1", "F2"}},
                    {"C2", "", ConditionKind::Coplanar, {"L2", "F7"}}};
    const Survey before = s;
    CHECK_FALSE(apply(s, {"", {Remove<Feature>{"F1"}}}));
    const auto back = apply(s, removeWithDependents(s, "F1"));
    REQUIRE(back);
    CHECK(s.conditions.size() == 1);
    REQUIRE(apply(s, *back));
    CHECK(s == before);
}
