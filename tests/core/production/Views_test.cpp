// SPDX-License-Identifier: GPL-3.0-or-later
// Which lines of a stepped part a view shows, and which it dashes, against what drawing by hand would give.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "Boards.h"
#include "Cases.h"
#include "core/drawing/Build.h"
#include "core/production/Placing.h"

using namespace trammel;
using namespace trammel::boards;
using namespace trammel::production;

namespace {

/// A base of 100 x 60 from z = 0 to 10; a block of 40 x 20 stands on its rear right, 10 to 25, over a base
/// hole; a bore through the base at the front left.
struct Step : Board {
    Step() {
        survey.levels.clear(), solution.levels.clear();
        level("L0", "foot", 0.0), level("L1", "face", 10.0), level("L2", "block", 25.0);
        corner("foot", {0, 0}, "L0");
        rectangle("P", {0, 0}, {100, 60}, "L1");
        rectangle("Q", {55, 35}, {95, 55}, "L2");
        hole("H1", {20, 20}, 10, "L1");
        hole("H2", {75, 45}, 8, "L1");
        survey.datum = {"L0", "H1", "P1"};
    }
    void rectangle(const std::string& name, Vec2 low, Vec2 high, const Id& lvl) {
        const Vec2 at[] = {low, {high.x(), low.y()}, high, {low.x(), high.y()}};
        std::vector<Id> chain;
        for (int i = 0; i < 4; ++i) {
            chain.push_back(name + std::to_string(i + 1));
            corner(chain.back(), at[i], lvl);
        }
        outline(name, OutlinePurpose::Outline, chain, lvl);
    }
    drawing::Drawing drawing() const { return *drawing::build(survey, solution); }
    Shape shape() const { return shapeOf(drawing(), survey, solution, 0.0); }
};

double length(const ViewLine& l) {
    double sum = 0.0;
    for (std::size_t i = 1; i < l.points.size(); ++i) sum += (l.points[i] - l.points[i - 1]).norm();
    return sum;
}

double total(const std::vector<ViewLine>& lines, LineKind kind) {
    double sum = 0.0;
    for (const ViewLine& l : lines)
        if (l.kind == kind) sum += length(l);
    return sum;
}

bool has(const std::vector<ViewLine>& lines, LineKind kind, Vec2 a, Vec2 b) {
    return std::any_of(lines.begin(), lines.end(), [&](const ViewLine& l) {
        const Vec2 &p = l.points.front(), &q = l.points.back();
        return l.kind == kind && (((p - a).norm() < 0.02 && (q - b).norm() < 0.02) ||
                                  ((p - b).norm() < 0.02 && (q - a).norm() < 0.02));
    });
}

}  // namespace

TEST_CASE("an envelope stands on what lies below it and has its holes through") {
    const Step s;
    const auto e = drawing::envelopeOf(s.drawing(), s.survey, s.solution);
    REQUIRE(e.prisms.size() == 2);
    CHECK(e.prisms[0].low == 0.0);
    CHECK(e.prisms[0].high == 10.0);
    CHECK(e.prisms[0].area() == Approx(6000 - 25 * std::numbers::pi - 16 * std::numbers::pi));
    CHECK(e.prisms[1].low == 10.0);
    CHECK(e.prisms[1].area() == Approx(800));
    CHECK(e.remarks ==
          std::vector<std::string>{"Outline P reaches down to level foot", "Outline Q stands on P"});
    Board flat;
    flat.corner("A", {0, 0}), flat.corner("B", {9, 0}), flat.corner("C", {0, 9});
    flat.outline("O", OutlinePurpose::Outline, {"A", "B", "C"});
    const auto d = *drawing::build(flat.survey, flat.solution);
    CHECK_FALSE(drawing::envelopeOf(d, flat.survey, flat.solution).prisms[0].footKnown);
    CHECK(drawing::envelopeOf(d, flat.survey, flat.solution, 1.5).prisms[0].low == -1.5);
}

TEST_CASE("a step beside another stands on the base and not on its neighbour") {
    for (const double over : {0.0, 0.004, -0.004}) {  // marked edges share a line only within their ±
        INFO(over);
        Step s;
        s.level("L3", "tall", 40.0);
        s.rectangle("R", {15, 35}, {55 + over, 55}, "L3");  // beside Q
        const auto e = drawing::envelopeOf(s.drawing(), s.survey, s.solution);
        REQUIRE(e.prisms.size() == 3);
        CHECK(e.prisms[2].name == "R");
        CHECK(e.prisms[2].low == 10.0);
    }
    Step s;
    s.level("L3", "tall", 40.0);
    s.rectangle("R", {15, 35}, {56, 55}, "L3");  // 1 mm over Q
    CHECK(drawing::envelopeOf(s.drawing(), s.survey, s.solution).prisms[2].low == 25.0);
    Step same;  // of one outline in plan
    same.level("L3", "tall", 40.0);
    same.rectangle("R", {55, 35}, {95, 55}, "L3");
    CHECK(drawing::envelopeOf(same.drawing(), same.survey, same.solution).prisms[2].low == 25.0);
}

TEST_CASE("a thickness stated of a level goes before the levels below it") {
    const Step s;
    const auto e = drawing::envelopeOf(s.drawing(), s.survey, s.solution, 1.5, "L1");
    CHECK(e.prisms[0].low == 8.5);
    CHECK(e.prisms[1].low == 10.0);
    CHECK(e.remarks.front() == "Outline P is 1.500 mm thick, as stated");
}

TEST_CASE("the top view hides what the block covers") {
    const auto lines = linesOf(Step().shape(), View::Top);
    CHECK(total(lines, LineKind::Hidden) ==
          Approx(8 * std::numbers::pi).margin(0.02));  // H2, under the block
    CHECK(total(lines, LineKind::Visible) == Approx(320 + 120 + 10 * std::numbers::pi).margin(0.03));
    CHECK(total(lines, LineKind::Measured) == 0.0);
    const auto below = linesOf(Step().shape(), View::Bottom);
    CHECK(total(below, LineKind::Hidden) == Approx(120).margin(0.02));  // the block is behind the base
    CHECK(total(below, LineKind::Visible) == Approx(320 + 18 * std::numbers::pi).margin(0.03));
}

TEST_CASE("side views show edges that nothing stands before and dash the others") {
    const auto front = linesOf(Step().shape(), View::Front);
    CHECK(has(front, LineKind::Visible, {0, 0}, {100, 0}));
    CHECK(has(front, LineKind::Visible, {0, 10}, {100, 10}));
    CHECK(has(front, LineKind::Visible, {55, 25}, {95, 25}));
    CHECK(has(front, LineKind::Visible, {0, 0}, {0, 10}));
    CHECK(has(front, LineKind::Visible, {55, 10}, {55, 25}));
    for (const double u : {15.0, 25.0, 71.0, 79.0}) CHECK(has(front, LineKind::Hidden, {u, 0}, {u, 10}));
    CHECK(total(front, LineKind::Hidden) == Approx(40).margin(1e-6));
    CHECK(total(front, LineKind::Visible) == Approx(100 + 100 + 40 + 20 + 30).margin(1e-6));
    CHECK(has(front, LineKind::Centre, {20, -2.5}, {20, 12.5}));
    // From the left u runs towards −y: the block lies between −55 and −35.
    const auto left = linesOf(Step().shape(), View::Left);
    CHECK(has(left, LineKind::Visible, {-55, 10}, {-55, 25}));
    CHECK(has(left, LineKind::Visible, {-60, 10}, {0, 10}));
    CHECK(has(left, LineKind::Hidden, {-25, 0}, {-25, 10}));
}

TEST_CASE("what stands behind a higher block is dashed where the block is") {
    Step s;
    s.level("L3", "tall", 40.0);
    s.rectangle("R", {10, 5}, {60, 25}, "L3");  // before the left part of the block
    s.survey.features.erase(std::find_if(s.survey.features.begin(), s.survey.features.end(),
                                         [](const auto& f) { return f.id == "H1"; }));
    const auto front = linesOf(s.shape(), View::Front);
    CHECK(has(front, LineKind::Hidden, {55, 10}, {55, 25}));
    CHECK(has(front, LineKind::Hidden, {55, 25}, {60, 25}));
    CHECK(has(front, LineKind::Visible, {60, 25}, {95, 25}));
    CHECK(has(front, LineKind::Visible, {60, 10}, {60, 40}));
}

TEST_CASE("keep-outs are drawn as neighbours and hide nothing, levels without outline as marked") {
    Step s;
    s.level("L4", "fan", 30.0);
    s.survey.outlines[1].purpose = OutlinePurpose::KeepOut;
    s.edge("loose", {10, 50}, {40, 50}, "L4");
    const auto top = linesOf(s.shape(), View::Top), front = linesOf(s.shape(), View::Front);
    CHECK(total(top, LineKind::Hidden) == 0.0);
    CHECK(total(top, LineKind::Adjacent) == Approx(120));
    CHECK(total(front, LineKind::Adjacent) == Approx(2 * (40 + 15)));
    CHECK(has(top, LineKind::Measured, {10, 50}, {40, 50}));
    CHECK(has(front, LineKind::Measured, {10, 30}, {40, 30}));
}

TEST_CASE("views lie where ISO 5456-2 puts them and line up") {
    const Step s;
    const auto d = s.drawing();
    const auto holes = holeRows(d, s.survey, s.solution);
    const std::vector<View> all{View::Top, View::Bottom, View::Left, View::Right, View::Rear};
    const Views views = viewsOf(s.survey, s.solution, d, s.shape(), holes, all);
    const trammel::test::Cases cases("iso5456-2-arrangement");
    for (const auto method : {unfold::Method::FirstAngle, unfold::Method::ThirdAngle}) {
        const auto placed = placedAt(views, method, 0.5, 2.5);
        const auto of = [&](View v) {
            return *std::find_if(placed.views.begin(), placed.views.end(),
                                 [&](const PlacedView& p) { return p.seen->view == v; });
        };
        const PlacedView front = of(View::Front);
        for (const auto& row : cases.rows()) {
            const auto view = survey::viewFromName(row.text("view"));
            if (!view) continue;
            const PlacedView v = of(*view);
            const std::string side =
                row.text(method == unfold::Method::FirstAngle ? "first_angle" : "third_angle");
            INFO(row.text("view") << " " << side);
            if (side == "below") CHECK(v.room.high.y() < front.room.low.y());
            if (side == "above") CHECK(v.room.low.y() > front.room.high.y());
            if (side == "left") CHECK(v.room.high.x() < front.room.low.x());
            if (side == "right" || side == "far right") CHECK(v.room.low.x() > front.room.high.x());
            const bool column = side == "below" || side == "above";
            CHECK(v.origin[column ? 0 : 1] == Approx(front.origin[column ? 0 : 1]));
        }
        for (const PlacedView& a : placed.views)
            for (const PlacedView& b : placed.views)
                if (&a != &b)
                    CHECK_FALSE(((a.room.low.array() < b.room.high.array()).all() &&
                                 (b.room.low.array() < a.room.high.array()).all()));
    }
}
