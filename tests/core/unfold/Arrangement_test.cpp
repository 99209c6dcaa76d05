// SPDX-License-Identifier: GPL-3.0-or-later
// Where the views stand, against ISO 5456-2 (tests/cases), and the way from the part to the sheet and back.
#include "core/unfold/Arrangement.h"

#include <Eigen/Geometry>
#include <catch2/catch.hpp>
#include <random>

#include "Cases.h"

using namespace trammel;
using namespace trammel::unfold;

namespace {

const std::vector<View> kAll(std::begin(kPlaced), std::end(kPlaced));

Arrangement random(std::mt19937& dice, Method method, double turn, std::vector<View> views = kAll) {
    std::uniform_real_distribution<double> low(-200.0, 0.0), high(0.1, 300.0), gap(1.0, 30.0);
    Box box;
    for (int i = 0; i < 3; ++i) box.low[i] = low(dice), box.high[i] = high(dice);
    return Arrangement({method, box, turn, std::move(views), gap(dice), gap(dice)});
}

/// Which side of frame b the frame a lies on, and that they line up as the standard's figures show.
std::string sideOf(const Frame& a, const Frame& b) {
    const double tiny = 1e-9;
    const bool column = std::abs(a.low.x() - b.low.x()) < tiny && std::abs(a.high.x() - b.high.x()) < tiny;
    const bool row = std::abs(a.low.y() - b.low.y()) < tiny && std::abs(a.high.y() - b.high.y()) < tiny;
    if (column && a.low.y() > b.high.y()) return "above";
    if (column && a.high.y() < b.low.y()) return "below";
    if (row && a.low.x() > b.high.x()) return "right";
    if (row && a.high.x() < b.low.x()) return "left";
    return "askew";
}

}  // namespace

TEST_CASE("Views stand where ISO 5456-2 has them") {
    const test::Cases cases("iso5456-2-arrangement");
    std::mt19937 dice(1);
    for (const auto& row : cases.rows())
        for (const Method method : {Method::FirstAngle, Method::ThirdAngle}) {
            const std::string expected =
                row.text(method == Method::FirstAngle ? "first_angle" : "third_angle");
            INFO(row.text("view") << " " << expected);
            if (row.text("view") == "narrow") {
                const Symbol s = symbolOf(method);
                CHECK((s.circles.x() > s.cone.front().x() ? "right" : "left") == expected);
                CHECK(s.cone[0].x() < s.cone[1].x());  // the narrow end is at the left
                CHECK(s.narrow < s.wide);
                continue;
            }
            const View view = *survey::viewFromName(row.text("view"));
            const Arrangement a = random(dice, method, 0.0);
            const std::string side = sideOf(a.frame(view), a.frame(View::Front));
            if (view == View::Rear) {
                CHECK(side == "right");
                const View before = method == Method::FirstAngle ? View::Left : View::Right;
                CHECK(sideOf(a.frame(view), a.frame(before)) == "right");
            } else {
                CHECK(side == expected);
            }
        }
}

TEST_CASE("A view shows the part as a viewer of that side sees it") {
    // The survey's own principal views, tested elsewhere; the bottom view is turned to align with the front.
    for (const View view : kPlaced) {
        const Axes a = axesOf(view);
        const Mat3 r = survey::squareRotation(view);
        const double sign = view == View::Bottom ? -1.0 : 1.0;
        INFO(survey::viewName(view));
        CHECK((a.right - sign * r.row(0).transpose()).norm() < 1e-12);
        CHECK((a.up + sign * r.row(1).transpose()).norm() < 1e-12);
        CHECK((a.toViewer + r.row(2).transpose()).norm() < 1e-12);
        CHECK((a.right.cross(a.up) - a.toViewer).norm() < 1e-12);  // not mirrored
    }
}

TEST_CASE("Part to sheet and back is one to one") {
    std::mt19937 dice(2);
    std::uniform_real_distribution<double> any(-500.0, 500.0), angle(-3.0, 3.0);
    for (int draw = 0; draw < 200; ++draw) {
        const Method method = draw % 2 ? Method::FirstAngle : Method::ThirdAngle;
        const Arrangement a = random(dice, method, angle(dice));
        for (const View view : a.views()) {
            const Vec3 part(any(dice), any(dice), any(dice));
            const Vec3 back = a.toPart(view, a.toSheet(view, part), a.depthOf(view, part));
            CHECK((back - part).norm() < 1e-9);
            // one mm of the part is one mm of the sheet
            const Vec3 other = part + a.unturned(axesOf(view).right * 3.0 + axesOf(view).up * 4.0);
            CHECK((a.toSheet(view, other) - a.toSheet(view, part)).norm() == Approx(5.0));
        }
    }
}

TEST_CASE("Frames never overlap, hold their box, and are found by a place in them") {
    std::mt19937 dice(3);
    std::bernoulli_distribution coin;
    for (int draw = 0; draw < 100; ++draw) {
        std::vector<View> views;
        for (const View v : kPlaced)
            if (coin(dice)) views.push_back(v);
        const Arrangement a = random(dice, draw % 2 ? Method::FirstAngle : Method::ThirdAngle, 0.0, views);
        REQUIRE(a.shows(View::Front));
        for (const View v : a.views()) {
            const Frame& f = a.frame(v);
            for (int corner = 0; corner < 8; ++corner) {
                Vec3 own;
                for (int i = 0; i < 3; ++i) own[i] = (corner >> i) & 1 ? a.box().high[i] : a.box().low[i];
                CHECK(f.contains(a.ownToSheet(v, own)));
            }
            CHECK(a.viewAt(0.5 * (f.low + f.high)) == v);
            CHECK(a.whole().contains(f.low));
            CHECK(a.whole().contains(f.high));
            for (const View w : a.views()) {
                const Frame& g = a.frame(w);
                const bool apart = f.high.x() < g.low.x() || g.high.x() < f.low.x() ||
                                   f.high.y() < g.low.y() || g.high.y() < f.low.y();
                CHECK((v == w || apart));
            }
        }
    }
}

TEST_CASE("An empty part still has a sheet") {
    const Arrangement a;
    CHECK(a.shows(View::Front));
    CHECK(a.frame(View::Top).size().norm() == 0.0);
    CHECK_FALSE(a.mitre(View::Top, View::Left));
}
