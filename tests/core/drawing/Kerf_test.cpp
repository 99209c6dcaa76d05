// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Kerf.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "Boards.h"
#include "core/drawing/Build.h"
#include "core/drawing/Nominal.h"

using namespace trammel;
using namespace trammel::boards;
using namespace trammel::drawing;

namespace {

constexpr double kPi = std::numbers::pi;

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

std::string joined(const std::vector<std::string>& list) {
    std::string s;
    for (const auto& l : list) s += (l.rfind("  ", 0) == 0 ? l.substr(1) : "\n" + l);
    return s;
}

Options kerf(double width, KeptSide side = KeptSide::Part) {
    Options o;
    o.kerf = {width, side};
    return o;
}

}  // namespace

TEST_CASE("a kerf is compensated once, on the waste side, and the notes say by whom") {
    const Board b = demoBoard();
    const auto plain = build(b.survey, b.solution);
    REQUIRE(plain);
    CHECK(has(joined(noteLines(*plain)), "Kerf: not compensated in this file."));
    const double k = 0.2, h = 0.1;
    for (const KeptSide side : {KeptSide::Part, KeptSide::Sheet}) {
        const double sign = side == KeptSide::Part ? 1 : -1;
        const auto d = build(b.survey, b.solution, kerf(k, side));
        if (!d) FAIL(d.error().sentence());
        REQUIRE(d->chains.size() == plain->chains.size());
        REQUIRE(d->holes.size() == plain->holes.size());
        // The slot of 10 x 6 with round ends: a stadium, narrower by the kerf for the part.
        const double r = 3 - sign * h;
        CHECK(signedArea(d->chains[1].chain) == Approx(-(20 * r + kPi * r * r)).epsilon(1e-9));
        CHECK((d->part.high - d->part.low - Vec2(120, 80) - Vec2::Constant(sign * k)).norm() < 1e-9);
        for (std::size_t i = 0; i < d->holes.size(); ++i)
            CHECK(d->holes[i].circle.radius == Approx(plain->holes[i].circle.radius - sign * h));
        const std::string notes = joined(noteLines(*d));
        CHECK(has(notes, "compensated in this file for a kerf of 0.2 mm."));
        CHECK(has(notes, side == KeptSide::Part ? "0.1 mm outside of" : "0.1 mm inside of"));
        CHECK(d->rows[0].text == plain->rows[0].text);  // dimensions are the part's
        Drawing twice = *d;
        CHECK_FALSE(compensateKerf(twice, k, side));
    }
    // The notch of the outline and the corners of the square opening are left with (√2 − 1) h.
    CHECK(has(joined(build(b.survey, b.solution, kerf(k))->remarks),
              "a round beam leaves up to 0.041 mm in inner corners, most in O"));
}

TEST_CASE("what a kerf fills is refused by name, and the drawing stays") {
    const Board b = demoBoard();
    const auto sentence = [&](double width) {
        const auto d = build(b.survey, b.solution, kerf(width));
        return d ? std::string() : d.error().sentence();
    };
    CHECK(has(sentence(3.3), "hole H1: kerf of 3.3 mm fills the hole of 3.200 mm"));
    CHECK(has(sentence(6.5), "cutout O2: kerf larger than the slot at"));
    CHECK(has(sentence(-1), "kerf: -1 mm is no width of a kerf"));
    CHECK(has(sentence(std::nan("")), "is no width of a kerf"));
    auto d = build(b.survey, b.solution);
    REQUIRE(d);
    const Drawing before = *d;
    CHECK_FALSE(compensateKerf(*d, 3.3, KeptSide::Part));
    for (std::size_t i = 0; i < before.chains.size(); ++i)
        CHECK(d->chains[i].chain.vertices[0].point == before.chains[i].chain.vertices[0].point);
    CHECK(d->kerf.width_mm == 0);
}

TEST_CASE("keep-outs grow by a clearance, rounded, and it is told") {
    Board b = demoBoard();
    b.survey.outlines[2].purpose = OutlinePurpose::KeepOut;  // 30 x 20
    Options o;
    o.clearance_mm = 1.5;
    const auto d = build(b.survey, b.solution, o);
    if (!d) FAIL(d.error().sentence());
    CHECK(signedArea(d->chains[2].chain) == Approx(600 + 100 * 1.5 + kPi * 2.25).epsilon(1e-12));
    CHECK(has(joined(d->remarks), "keep-outs are drawn 1.5 mm larger all round for clearance: O3"));
    o.clearance_mm = -1;
    CHECK_FALSE(build(b.survey, b.solution, o));
}

TEST_CASE("rounding to nominal sizes lists every change with its size") {
    Board b = demoBoard();
    b.solution.features.at("H1").point += Vec3(0.013, -0.021, 0);
    b.solution.features.at("H1").radius = 1.612;
    b.solution.features.at("E2").point.x() = 120.03;
    b.solution.features.at("E2").direction = Vec2(0.001, 1).normalized();
    Options o;
    o.nominal_mm = 0.1;
    const auto d = build(b.survey, b.solution, o);
    if (!d) FAIL(d.error().sentence());
    CHECK((d->part.high - Vec2(120, 80)).norm() < 1e-9);
    CHECK((d->holes[0].circle.centre - Vec2(8, 8)).norm() < 1e-12);
    CHECK(d->holes[0].circle.radius == Approx(1.6));
    const std::string remarks = joined(d->remarks);
    CHECK(has(remarks, "rounded to nominal sizes in steps of 0.1 mm, so that the drawing departs"));
    CHECK(has(remarks,
              "hole H1: x 8.013 to 8.000 (-0.013), y 7.979 to 8.000 (+0.021), diameter 3.224 to 3.200"));
    CHECK(has(remarks, "edge E2: turned by 0.057°, x 120.030 to 120.000 (-0.030)"));
    CHECK_FALSE(has(remarks, "hole H2"));
    // Where the ± is smaller than the change, that is said.
    o.chain.plusMinus = [](const survey::Dimension&) { return 0.01; };
    CHECK(has(joined(build(b.survey, b.solution, o)->remarks), "(-0.024, beyond its ±0.010)"));
    for (const double bad : {-0.1, 11.0, std::nan("")}) {
        o.nominal_mm = bad;
        CHECK_FALSE(build(b.survey, b.solution, o));
    }
    o.nominal_mm = 10;
    const auto gone = build(b.survey, b.solution, o);
    REQUIRE_FALSE(gone);
    CHECK(has(gone.error().sentence(), "would vanish when rounded to 10 mm"));
}
