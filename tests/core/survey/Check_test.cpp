// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/Check.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "core/survey/SamePlace.h"

using namespace trammel;
using namespace trammel::survey;

namespace {

std::vector<MarkPoint> circle(double x, double y, double r, int n, double from = 0.0, double to = 2 * M_PI) {
    std::vector<MarkPoint> points;
    for (int i = 0; i < n; ++i) {
        const double a = from + (to - from) * i / n;
        points.push_back({Vec2(x + r * std::cos(a), y + r * std::sin(a)), 0.3});
    }
    return points;
}

/// Sound: two photographs, one level, two corners, an edge and a hole.
Survey sound() {
    Survey s;
    s.groups.resize(1);
    s.groups[0].id = "G1", s.groups[0].name = "200 mm";
    s.stations.resize(2);
    s.stations[0].id = "S1", s.stations[0].name = "top", s.stations[0].view = View::Top;
    s.stations[1].id = "S2", s.stations[1].name = "front", s.stations[1].view = View::Front;
    for (Station& st : s.stations) st.group = "G1", st.photo.width = 3000, st.photo.height = 2000;
    s.levels = {{"L1", "face"}};
    s.features = {{"F1", "A", FeatureKind::Corner, "L1"},
                  {"F2", "B", FeatureKind::Corner, "L1"},
                  {"F3", "C", FeatureKind::Edge, "L1"},
                  {"F4", "D", FeatureKind::Hole, "L1"}};
    s.marks = {{"M1", "S1", "F1", {{Vec2(10, 10), 0.3}}, MarkOrigin::Hand, false},
               {"M2", "S1", "F2", {{Vec2(900, 10), 0.3}}, MarkOrigin::Hand, false},
               {"M3", "S1", "F3", {{Vec2(10, 10), 0.3}, {Vec2(900, 10), 0.3}}, MarkOrigin::Hand, false},
               {"M4", "S1", "F4", circle(400, 300, 50, 12), MarkOrigin::Fitted, false},
               {"M5", "S2", "F1", {{Vec2(10, 500), 0.3}}, MarkOrigin::Hand, false}};
    s.readings = {{"R1", "width", Quantity::Distance, {"F1", "F2"}, {100.0, 0.03}, true, false, false}};
    s.dimensions = {{"D1", "bore", Quantity::Diameter, {"F4"}, false, 0.0}};
    s.outlines = {{"O1", "", OutlinePurpose::Cutout, "L1", {"F4"}}};
    s.datum = {"L1", "F1", "F3"};
    return s;
}

/// The only finding, as its sentence; all of them joined when there is not exactly one.
template <class F>
std::string finding(F&& spoil) {
    Survey s = sound();
    spoil(s);
    std::string all;
    for (const Error& e : check(s)) all += (all.empty() ? "" : " | ") + e.sentence();
    return all;
}

const double kNaN = std::numeric_limits<double>::quiet_NaN();

}  // namespace

TEST_CASE("a sound survey has no findings") {
    CHECK(check(sound()).empty());
    CHECK(check(Survey{}).empty());
}

TEST_CASE("values that are not finite or not positive are named") {
    CHECK(finding([](Survey& s) { s.marks[1].points[0].px.y() = kNaN; }) ==
          "mark of corner B in photograph top: position is not a number; enter it again.");
    CHECK(finding([](Survey& s) { s.marks[3].points[5].sigma_px = 0; }) ==
          "mark of hole D in photograph top: σ is 0, which is not above zero; enter a standard uncertainty "
          "above "
          "zero.");
    CHECK(finding([](Survey& s) {
              s.marks[3].points[5].sigma_px = std::numeric_limits<double>::infinity();
          }) == "mark of hole D in photograph top: σ is not a number; enter it again.");
    CHECK(finding([](Survey& s) { s.readings[0].measured.value = 0; }) ==
          "reference width: length is 0, which is not above zero; enter the measured length or remove it.");
    CHECK(finding([](Survey& s) { s.readings[0].measured.sigma = -0.1; }) ==
          "reference width: σ is -0.1, which is not above zero; enter a standard uncertainty above zero.");
    CHECK(finding([](Survey& s) { s.dimensions[0].target = -0.1; }) ==
          "dimension bore: wanted ± is -0.1, which is below zero; enter it above zero, or 0 for none.");
    CHECK(finding([](Survey& s) { s.dimensions[0].target = kNaN; }) ==
          "dimension bore: wanted ± is not a number; enter it again.");
    CHECK(finding([](Survey& s) { s.dimensions[0].target = 0.1; }).empty());
    CHECK(finding([](Survey& s) { s.groups[0].k1.value = kNaN; }) ==
          "camera 200 mm: k1 is not a number; enter it again.");
    CHECK(
        finding([](Survey& s) {
            s.groups[0].principalDistance = {5000, 0, ConstantMode::Prior};
        }) ==
        "camera 200 mm: σ of principal distance is 0, which is not above zero; enter a standard uncertainty "
        "above zero.");
    CHECK(
        finding([](Survey& s) {
            s.groups[0].principalDistance = {0, 0, ConstantMode::Fixed};
        }) ==
        "camera 200 mm: principal distance is 0, which is not above zero; enter it in px or leave it free.");
    CHECK(finding([](Survey& s) { s.stations[0].photo.height = 0; }) ==
          "photograph top: picture size 3000 × 0 is not positive; add the photograph again.");
    CHECK(finding([](Survey& s) {
              s.stations[0].photo.crop = {3000, 2000, 1.0, 0.0, true};
          }) ==
          "photograph top: crop at (1, 0) of 3000 × 2000 does not lie inside the full frame of 3000 × 2000; "
          "enter "
          "the full frame and the offset again.");
}

TEST_CASE("marks with too few or coinciding points are named") {
    CHECK(finding([](Survey& s) { s.marks[3].points.resize(2); }) ==
          "mark of hole D in photograph top: has 2 points, but a hole needs at least 3; mark it again.");
    CHECK(finding([](Survey& s) { s.marks[2].points.resize(1); }) ==
          "mark of edge C in photograph top: has 1 point, but an edge needs at least 2; mark it again.");
    CHECK(finding([](Survey& s) { s.marks[0].points.clear(); }) ==
          "mark of corner A in photograph top: has 0 points, but a corner needs at least 1; mark it again.");
    CHECK(finding([](Survey& s) { s.marks[2].points[1].px = s.marks[2].points[0].px; }) ==
          "mark of edge C in photograph top: has all its points at one place; mark it again with points "
          "apart.");
    CHECK(finding([](Survey& s) {
              s.marks[0].points.push_back({Vec2(3, 3), 1.0});
          }) == "mark of corner A in photograph top: has 2 points, but a corner has one; mark it again.");
}

TEST_CASE("marks that name themselves or one another are named, not followed for ever") {
    CHECK(finding([](Survey& s) { s.marks[0].feature = "M1"; }) ==
          "mark of M1 in photograph top: names the feature M1, which the survey does not hold; choose "
          "another or "
          "remove this.");
    CHECK_FALSE(finding([](Survey& s) { s.marks[0].feature = "M2", s.marks[1].feature = "M1"; }).empty());
}

TEST_CASE("numbers that cannot be meant are named") {
    CHECK(finding([](Survey& s) { s.marks[0].points[0].px.x() = 1e300; }) ==
          "mark of corner A in photograph top: position (1e+300, 10) lies far outside the picture of 3000 × "
          "2000; "
          "mark it again.");
    CHECK(
        finding([](Survey& s) { s.marks[0].points[0].sigma_px = 1e-310; }) ==
        "mark of corner A in photograph top: σ is 1e-310, which cannot be meant; enter a value between 1e-06 "
        "and 1e+06.");
    CHECK(finding([](Survey& s) { s.readings[0].measured.value = 1e12; }) ==
          "reference width: length is 1e+12, which cannot be meant; enter a value between 1e-06 and 1e+09.");
    CHECK(finding([](Survey& s) { s.readings[0].measured.sigma = 1e-300; }) ==
          "reference width: σ is 1e-300, which cannot be meant; enter a value between 1e-09 and 1e+09.");
    CHECK(finding([](Survey& s) {
              s.groups[0].principalDistance = {0.01, 1, ConstantMode::Prior};
          }) ==
          "camera 200 mm: principal distance is 0.01, which cannot be meant; enter a value between 1 and "
          "1e+09.");
    CHECK(finding([](Survey& s) { s.stations[0].squareSigma_rad = 1e-300; }) ==
          "photograph top: σ of the axis square to the view is 1e-300, which cannot be meant; enter a value "
          "between 1e-09 and 1000.");
}

TEST_CASE("ids that are missing, doubled or dangling are named") {
    CHECK(finding([](Survey& s) {
              s.levels.push_back({"F4", "x"});
          }) == "hole D: 2 objects share the id F4; give each an id of its own.");
    CHECK(finding([](Survey& s) {
              s.levels.push_back({"", "x"});
          }) == "1 object of the survey has no id; give each an id of its own.");
    CHECK(finding([](Survey& s) { s.marks[0].station = "S8"; }) ==
          "mark of corner A in S8: names the photograph S8, which the survey does not hold; choose another "
          "or remove this.");
    CHECK(finding([](Survey& s) { s.stations[1].group.clear(); }) ==
          "photograph front: names no camera; choose one or remove this.");
    CHECK(finding([](Survey& s) { s.outlines[0].chain[0] = "F8"; }) ==
          "outline O1: names the feature F8, which the survey does not hold; choose another or remove this.");
    CHECK(finding([](Survey& s) {
              s.features[2].kind = FeatureKind::Slot, s.features[2].level.clear(), s.marks.clear();
          }) == "slot C: a feature of kind slot must lie in a level, but names none; choose its level.");
    CHECK(finding([](Survey& s) { s.features[2].transition = Transition::Round; }) ==
          "edge C: width of the rounding is 0, which is not above zero; enter it in mm.");
    CHECK(finding([](Survey& s) { s.features[2].transition_mm = -1.0; }) ==
          "edge C: width of the transition is -1, which is below zero; enter it in mm, or 0 where it is not "
          "known.");
    CHECK(finding([](Survey& s) { s.features[3].level = "L9"; }) ==
          "hole D: names the level L9, which the survey does not hold; choose another or remove this.");
    CHECK(finding([](Survey& s) { s.datum.origin = "F3"; }).find("the datum point cannot be edge C") !=
          std::string::npos);
}

TEST_CASE("a quantity over the wrong objects is named") {
    CHECK(finding([](Survey& s) { s.dimensions[0].objects = {"F3"}; }) ==
          "dimension bore: a diameter takes one hole, arc or slot, and edge C is none; choose another.");
    CHECK(finding([](Survey& s) {
              s.dimensions[0].objects = {"F4", "F3"};
          }) ==
          "dimension bore: a diameter takes one hole, arc or slot, but 2 are given; choose them again.");
    CHECK(finding([](Survey& s) {
              s.readings[0].objects = {"F1", "F1"};
          }) == "reference width: names corner A twice; choose different ones.");
    CHECK(finding([](Survey& s) { s.readings[0].objects[1] = "F77"; }) ==
          "reference width: names the object F77, which the survey does not hold; choose another or remove "
          "this.");
    CHECK(finding([](Survey& s) {
              s.readings[0].quantity = Quantity::Tape, s.readings[0].objects = {"L1"};
          }) == "reference width: a tape takes one photograph, and level face is none; choose another.");
    for (const auto& [quantity, objects] :
         std::vector<std::pair<Quantity, std::vector<Id>>>{{Quantity::Distance, {"F1", "F3"}},
                                                           {Quantity::Radius, {"F4"}},
                                                           {Quantity::Depth, {"L1", "F1"}},
                                                           {Quantity::Height, {"F1"}},
                                                           {Quantity::OffsetX, {"F1", "F4"}},
                                                           {Quantity::Tape, {"S1"}}}) {
        Survey s = sound();
        s.dimensions[0].quantity = quantity, s.dimensions[0].objects = objects;
        CHECK(check(s).empty());
    }
}

TEST_CASE("two features marked at one place are both named") {
    const std::string sentence = finding([](Survey& s) {
        s.features.push_back({"F5", "E", FeatureKind::Corner, "L1"});
        s.marks.push_back({"M6", "S1", "F5", {{Vec2(10.2, 9.9), 0.3}}, MarkOrigin::Hand, false});
    });
    CHECK(sentence ==
          "corner A: lies at the place of corner E in every photograph that shows both; remove one of them, "
          "or mark "
          "it where it belongs.");
    CHECK(finding([](Survey& s) {  // the same hole, marked anew by other points
              s.features.push_back({"F5", "E", FeatureKind::Hole, "L1"});
              s.marks.push_back({"M6", "S1", "F5", circle(400, 300, 50, 7, 0.2), MarkOrigin::Hand, false});
          })
              .find("hole D: lies at the place of hole E") == 0);
    CHECK(
        finding([](Survey& s) {  // the same edge, other end points
            s.features.push_back({"F5", "E", FeatureKind::Edge, "L1"});
            s.marks.push_back(
                {"M6", "S1", "F5", {{Vec2(100, 10), 0.3}, {Vec2(700, 10.1), 0.3}}, MarkOrigin::Hand, false});
        })
            .find("edge C: lies at the place of edge E") == 0);
}

TEST_CASE("features that merely look alike in one photograph are left alone") {
    CHECK(finding([](Survey& s) {  // a counterbore: same centre, other radius
              s.features.push_back({"F5", "E", FeatureKind::Hole, "L1"});
              s.marks.push_back({"M6", "S1", "F5", circle(400, 300, 60, 7), MarkOrigin::Hand, false});
          })
              .empty());
    CHECK(
        finding([](Survey& s) {  // an edge interrupted by a notch: one line, two stretches
            s.features.push_back({"F5", "E", FeatureKind::Edge, "L1"});
            s.marks.push_back(
                {"M6", "S1", "F5", {{Vec2(1000, 10), 0.3}, {Vec2(1500, 10), 0.3}}, MarkOrigin::Hand, false});
        })
            .empty());
    CHECK(finding([](Survey& s) {  // both only seen edge-on, one behind the other
              s.features.push_back({"F5", "E", FeatureKind::Corner, "L1"});
              s.marks.push_back({"M6", "S2", "F5", {{Vec2(10, 500), 0.3}}, MarkOrigin::Hand, false});
          })
              .empty());
    CHECK(finding([](Survey& s) {  // one above the other, seen from the top
              s.levels.push_back({"L2", "lower"});
              s.features.push_back({"F5", "E", FeatureKind::Corner, "L2"});
              s.marks.push_back({"M6", "S1", "F5", {{Vec2(10, 10), 0.3}}, MarkOrigin::Hand, false});
          })
              .empty());
    CHECK(finding([](Survey& s) {  // at one place in the top view, apart in the front view
              s.features.push_back({"F5", "E", FeatureKind::Corner, "L1"});
              s.marks.push_back({"M6", "S1", "F5", {{Vec2(10, 10), 0.3}}, MarkOrigin::Hand, false});
              s.marks.push_back({"M7", "S2", "F5", {{Vec2(600, 500), 0.3}}, MarkOrigin::Hand, false});
          })
              .empty());
}

TEST_CASE("corners of different levels at one place in two directions are one corner") {
    Survey s = sound();
    s.features.push_back({"F5", "E", FeatureKind::Corner, ""});
    s.marks.push_back({"M6", "S1", "F5", {{Vec2(10, 10), 0.3}}, MarkOrigin::Hand, false});
    s.marks.push_back({"M7", "S2", "F5", {{Vec2(10, 500), 0.3}}, MarkOrigin::Hand, false});
    const auto pairs = featuresAtOnePlace(s);
    REQUIRE(pairs.size() == 1);
    CHECK(pairs[0] == std::pair<Id, Id>{"F1", "F5"});
}

TEST_CASE("Check: a feature marked twice in one photograph is named, two parts of an edge are not") {
    const auto again = [](const char* feature, std::vector<MarkPoint> points) {
        return finding([&](Survey& s) {
            s.marks.push_back({"M9", "S1", feature, std::move(points), MarkOrigin::Hand, false});
        });
    };
    const auto named = [](const std::string& all, const char* feature) {
        return all.find(feature) != std::string::npos && all.find("marked twice in ") != std::string::npos &&
               all.find("remove or exclude") != std::string::npos && all.find(" | ") == std::string::npos;
    };
    CHECK(named(again("F1", {{Vec2(12, 11), 0.3}}), "A"));
    CHECK(named(again("F1", {{Vec2(512, 411), 0.3}}), "A"));
    CHECK(named(again("F4", circle(400, 300, 50, 8)), "D"));
    CHECK(named(again("F3", {{Vec2(500, 10), 0.3}, {Vec2(1400, 10), 0.3}}), "C"));
    CHECK(named(again("F3", {{Vec2(-90, 10), 0.3}, {Vec2(1400, 10), 0.3}}), "C"));
    CHECK(again("F3", {{Vec2(950, 10), 0.3}, {Vec2(1400, 10), 0.3}}).empty());
    CHECK(finding([](Survey& s) {
              s.marks.push_back({"M9", "S1", "F1", {{Vec2(12, 11), 0.3}}, MarkOrigin::Hand, true});
          }).empty());
}
