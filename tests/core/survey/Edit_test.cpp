// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/Edit.h"

#include <catch2/catch.hpp>
#include <limits>

#include "RandomSurvey.h"
#include "core/survey/Check.h"
#include "core/survey/Lists.h"

using namespace trammel;
using namespace trammel::survey;
using trammel::test::RandomSurvey;

namespace {

template <class T>
Id freshOrUsed(RandomSurvey& r, const Survey& s, const std::vector<T>& list, char letter) {
    return list.empty() || r.coin() ? freshId(s, letter) : r.pick(list).id;
}

Id anyId(RandomSurvey& r, const Survey& s) {
    std::vector<Id> ids;
    forEachId(s, [&](const Id& id) { ids.push_back(id); });
    return ids.empty() ? Id("F1") : r.pick(ids);
}

/// A change that is often good and sometimes refused (still in use, dangling, not a number).
Change randomChange(RandomSurvey& r, const Survey& s) {
    const double bad = r.integer(0, 9) == 0 ? std::numeric_limits<double>::quiet_NaN() : 1.0;
    const bool poor = s.groups.empty() || s.stations.empty() || s.levels.empty() || s.features.empty();
    switch (poor ? r.integer(12, 13) : r.integer(0, 15)) {
        case 0:
            return Put<CameraGroup>{r.group(freshOrUsed(r, s, s.groups, 'G'))};
        case 1:
            return Put<Station>{r.station(s, freshOrUsed(r, s, s.stations, 'S'))};
        case 2:
            return Put<Level>{r.level(freshOrUsed(r, s, s.levels, 'L'))};
        case 3:
            return Put<Feature>{r.feature(s, freshOrUsed(r, s, s.features, 'F')), 1};
        case 4: {
            Mark m = r.mark(s, freshOrUsed(r, s, s.marks, 'M'));
            m.points.front().px.x() *= bad;
            return Put<Mark>{m};
        }
        case 5:
            return Put<Reading>{r.reading(s, freshOrUsed(r, s, s.readings, 'R'))};
        case 6:
            return Put<Dimension>{r.dimension(s, freshOrUsed(r, s, s.dimensions, 'D'))};
        case 7:
            return Put<Outline>{r.outline(s, freshOrUsed(r, s, s.outlines, 'O'))};
        case 8:
            return Remove<CameraGroup>{r.pick(s.groups).id};
        case 9:
            return Remove<Level>{r.pick(s.levels).id};
        case 10:
            return Remove<Feature>{anyId(r, s)};
        case 11:
            return Remove<Mark>{s.marks.empty() ? "M1" : r.pick(s.marks).id};
        case 12:
            return SetDatum{{s.levels.empty() ? "" : r.pick(s.levels).id, "", ""}};
        case 13:
            return SetTitle{r.word(), r.word(), r.word()};
        case 14:
            return Remove<Outline>{s.outlines.empty() ? "O1" : r.pick(s.outlines).id};
        default:
            return Remove<Reading>{s.readings.empty() ? "R1" : r.pick(s.readings).id};
    }
}

Edit randomEdit(RandomSurvey& r, const Survey& s) {
    if (r.integer(0, 3) == 0) return removeWithDependents(s, anyId(r, s));
    Edit edit{"act", {}};
    for (int n = r.integer(1, 6); n > 0; --n) edit.changes.push_back(randomChange(r, s));
    return edit;
}

Survey small() {
    Survey s;
    s.groups = {CameraGroup{}};
    s.groups[0].id = "G1";
    s.stations.resize(1);
    s.stations[0].id = "S1", s.stations[0].group = "G1", s.stations[0].name = "front";
    s.stations[0].photo.width = s.stations[0].photo.height = 100;
    s.levels = {{"L1", "face"}};
    s.features = {{"F1", "A", FeatureKind::Hole, "L1"}, {"F2", "B", FeatureKind::Hole, "L1"}};
    s.marks = {{"M1", "S1", "F1", {{Vec2(1, 2), 1.0}}, MarkOrigin::Hand, false}};
    s.outlines = {{"O1", "", OutlinePurpose::Cutout, "L1", {"F1"}},
                  {"O2", "", OutlinePurpose::Outline, "L1", {"F1", "F2"}}};
    s.datum = {"L1", "F1", "F2"};
    return s;
}

}  // namespace

TEST_CASE("random edits and their inverses leave the survey equal") {
    int applied = 0, refused = 0;
    for (unsigned seed = 0; seed < 300; ++seed) {
        RandomSurvey r(seed);
        Survey s = r.survey();
        const Survey start = s;
        std::vector<Edit> undo;
        for (int step = 0; step < 20; ++step) {
            const Survey before = s;
            const Edit edit = randomEdit(r, s);
            const Result<Edit> inverse = apply(s, edit);
            if (!inverse) {
                ++refused;
                REQUIRE(s == before);  // all or none
                continue;
            }
            ++applied;
            REQUIRE(inverse->name == edit.name);
            const Survey after = s;
            const Result<Edit> redo = apply(s, *inverse);
            REQUIRE(redo);
            REQUIRE(s == before);
            REQUIRE(apply(s, *redo));
            REQUIRE(s == after);
            undo.push_back(*inverse);
        }
        for (auto it = undo.rbegin(); it != undo.rend(); ++it) REQUIRE(apply(s, *it));
        REQUIRE(s == start);
    }
    CHECK(applied > 2000);  // the property was really exercised, both ways
    CHECK(refused > 200);
}

TEST_CASE("removing an object with its dependents leaves nothing dangling") {
    for (unsigned seed = 0; seed < 200; ++seed) {
        RandomSurvey r(seed);
        Survey s = r.survey();
        const Id id = anyId(r, s);
        const Survey before = s;
        const Result<Edit> inverse = apply(s, removeWithDependents(s, id));
        REQUIRE(inverse);
        CHECK(countId(s, id) == 0);
        for (const Error& e : check(s)) CHECK(e.code != ErrorCode::NotFound);
        REQUIRE(apply(s, *inverse));
        REQUIRE(s == before);
    }
}

TEST_CASE("an outline loses a removed feature, and goes when nothing is left") {
    Survey s = small();
    REQUIRE(apply(s, removeWithDependents(s, "F1")));
    CHECK(s.features.size() == 1);
    CHECK(s.marks.empty());
    REQUIRE(s.outlines.size() == 1);
    CHECK(s.outlines[0].chain == std::vector<Id>{"F2"});
    CHECK(s.datum == Datum{"L1", "", "F2"});
    CHECK(removeWithDependents(s, "F77").changes.empty());
}

TEST_CASE("refusals name the object and leave the survey alone") {
    Survey s = small();
    const Survey before = s;
    const auto refuse = [&](const Change& change, ErrorCode code, const std::string& sentence) {
        const Result<Edit> r = apply(s, Edit{"x", {SetTitle{"changed", "", ""}, change}});
        REQUIRE_FALSE(r);
        CHECK(r.error().code == code);
        CHECK(r.error().sentence() == sentence);
        CHECK(s == before);
    };
    refuse(Remove<Feature>{"F1"}, ErrorCode::Refused,
           "hole A: is still used by mark of hole A in photograph front; remove that first.");
    refuse(Remove<Reading>{"R9"}, ErrorCode::NotFound, "R9: the survey does not hold it; reload the survey.");
    refuse(Put<Level>{{"F1", "clash"}}, ErrorCode::BadValue,
           "hole A: its id F1 already belongs to another object; give the new object a fresh id.");
    refuse(
        Put<Mark>{{"M1", "S1", "F1", {{Vec2(0, 0), 0.0}}, MarkOrigin::Hand, false}}, ErrorCode::BadValue,
        "mark of hole A in photograph front: σ is 0, which is not above zero; enter a standard uncertainty "
        "above zero.");
    refuse(Put<Mark>{{"M2", "S1", "F9", {}, MarkOrigin::Hand, false}}, ErrorCode::NotFound,
           "mark of F9 in photograph front: names the feature F9, which the survey does not hold; choose "
           "another "
           "or remove this.");
    refuse(Put<Reading>{{"R1", "width", Quantity::Distance, {"F1", "F2"}, {0.0, 0.03}, true, false, false}},
           ErrorCode::BadValue,
           "reference width: length is 0, which is not above zero; enter the measured length or remove it.");
}

TEST_CASE("mending an unsound survey can be undone") {
    Survey s = small();
    s.marks[0].points[0].sigma_px = -1.0;
    const Survey bad = s;
    Mark good = s.marks[0];
    good.points[0].sigma_px = 1.0;
    const Result<Edit> inverse = apply(s, Edit{"mend", {Put<Mark>{good}}});
    REQUIRE(inverse);
    REQUIRE(apply(s, *inverse));
    CHECK(s == bad);
}

TEST_CASE("undo restores a list in which an id stands twice") {
    Survey s = small();
    s.levels = {{"L1", "a"}, {"L2", "b"}, {"L2", "c"}};
    const Survey before = s;
    const Result<Edit> inverse = apply(s, Edit{"remove", {Remove<Level>{"L2"}}});
    REQUIRE(inverse);
    CHECK(s.levels.size() == 2);
    REQUIRE(apply(s, *inverse));
    CHECK(s == before);
}

TEST_CASE("a fresh id follows the largest in use") {
    Survey s = small();
    CHECK(freshId(s, 'F') == "F3");
    CHECK(freshId(s, 'R') == "R1");
    s.features.push_back({"F41", "", FeatureKind::Corner, ""});
    s.features.push_back({"F7x", "", FeatureKind::Corner, ""});
    s.features.push_back({"F99999999999999999999999", "", FeatureKind::Corner, ""});
    CHECK(freshId(s, 'F') == "F42");
}
