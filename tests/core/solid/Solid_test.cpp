// SPDX-License-Identifier: GPL-3.0-or-later
// Solids of envelopes made by hand: volumes by school geometry, STEP text by what ISO 10303-21 asks.
#include "core/solid/Solid.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "Boards.h"
#include "core/drawing/Build.h"

using namespace trammel;
using namespace trammel::boards;
using namespace trammel::solid;

namespace {

geometry::Chain box(Vec2 low, Vec2 high) {
    return {{{low, 0}, {{high.x(), low.y()}, 0}, {high, 0}, {{low.x(), high.y()}, 0}}};
}

/// A plate of 100 x 60 x 10 with a rounded end, a slot and two holes, and a block of 40 x 20 x 15 on it.
drawing::Envelope step() {
    drawing::Prism base;
    base.name = "base", base.low = 0, base.high = 10;
    base.outer = {
        {{{0, 0}, 0}, {{100, 0}, 1.0}, {{100, 60}, 0}, {{0, 60}, 0}}};  // half a circle of radius 30
    base.openings = {
        reversed(geometry::Chain{{{{20, 10}, 0}, {{40, 10}, 1.0}, {{40, 16}, 0}, {{20, 16}, 1.0}}})};
    base.holes = {{"H1", "H1", "", {{10, 50}, 3}, true, ""}, {"H2", "H2", "", {{75, 40}, 4}, true, ""}};
    drawing::Prism block;
    block.name = "block", block.low = 10, block.high = 25;
    block.outer = box({50, 30}, {90, 50});
    return {{base, block}, {}};
}

double volumeByHand() {
    const double pi = std::numbers::pi;
    const double plan = 6000 + 0.5 * pi * 900 - (20 * 6 + pi * 9) - pi * 9 - pi * 16;
    return 10 * plan + 15 * 800;
}

}  // namespace

TEST_CASE("a stepped part becomes one valid closed solid of the right volume") {
    const auto s = solidOf(step(), "Demo step", Format::Step);
    REQUIRE(s);
    CHECK(s->solids == 1);
    CHECK(s->expected_mm3 == Approx(volumeByHand()).epsilon(1e-12));
    CHECK(s->volume_mm3 == Approx(volumeByHand()).epsilon(1e-6));
    CHECK(s->remarks.empty());
    CHECK(s->bytes.rfind("ISO-10303-21;", 0) == 0);
    CHECK(s->bytes.find("END-ISO-10303-21;") != std::string::npos);
    CHECK(s->bytes.find("FILE_NAME('Demo step'") != std::string::npos);
    CHECK(s->bytes.find("PRODUCT('Demo step") != std::string::npos);
    CHECK(s->bytes.find("SI_UNIT(.MILLI.,.METRE.)") != std::string::npos);
    CHECK(s->bytes.find("CYLINDRICAL_SURFACE") != std::string::npos);  // arcs stay arcs
}

TEST_CASE("an STL is closed, and smaller or larger only by its chords") {
    const auto s = solidOf(step(), "Demo step", Format::Stl);
    REQUIRE(s);
    const auto v = closedVolume(s->bytes);
    REQUIRE(v);
    CHECK(std::abs(*v - volumeByHand()) < 0.002 * volumeByHand());
    CHECK(*v != Approx(volumeByHand()).epsilon(1e-9));
    // One triangle less, and it is open; a bit turned, and it is no whole file.
    std::string open = s->bytes.substr(0, s->bytes.size() - 50);
    --open[80];
    CHECK_FALSE(closedVolume(open));
    CHECK_FALSE(closedVolume(s->bytes.substr(0, s->bytes.size() - 1)));
    CHECK_FALSE(closedVolume(""));
}

TEST_CASE("boards of any outline come out at levels times areas") {
    int made = 0;
    for (unsigned seed = 1; seed <= 12; ++seed) {
        double truth = 0.0;
        const Board b = randomBoard(seed, truth);
        const auto d = drawing::build(b.survey, b.solution);
        if (!d) continue;
        const auto e = drawing::envelopeOf(*d, b.survey, b.solution, 1.6);
        const auto s = solidOf(e, b.survey.title, Format::Step);
        INFO(seed << (s ? "" : s.error().sentence()));
        REQUIRE(s);
        double holes = 0.0;
        for (const auto& h : d->holes)
            if (h.cut) holes += std::numbers::pi * h.circle.radius * h.circle.radius;
        CHECK(s->volume_mm3 == Approx(1.6 * (truth - holes)).epsilon(1e-6));
        ++made;
    }
    CHECK(made > 6);
}

TEST_CASE("what is no solid is refused by name") {
    drawing::Envelope thin = step();
    thin.prisms[1].low = thin.prisms[1].high, thin.prisms[1].footKnown = false;
    const auto none = solidOf(thin, "", Format::Step);
    REQUIRE_FALSE(none);
    CHECK(none.error().sentence().find("outline block: has no thickness") == 0);
    CHECK_FALSE(solidOf({}, "", Format::Step));
    drawing::Envelope keepOut = step();
    for (auto& p : keepOut.prisms) p.purpose = OutlinePurpose::KeepOut;
    CHECK_FALSE(solidOf(keepOut, "", Format::Stl));
    // Two plates that do not touch are two solids.
    drawing::Envelope two = step();
    two.prisms[1].outer = box({200, 0}, {240, 20});
    const auto s = solidOf(two, "two 'plates' \\ of ⌀ 5", Format::Step);
    REQUIRE(s);
    CHECK(s->bytes.find("FILE_NAME('two plates  of  5'") != std::string::npos);
    CHECK(s->solids == 2);
}
