// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/Lenses.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "core/plan/Plan.h"
#include "core/plan/Views.h"

using namespace trammel;
using namespace trammel::plan;

namespace {

Task task(double x = 300, double y = 200, double room = 8000) {
    Task t;
    t.sizeX_mm = x, t.sizeY_mm = y;
    t.heights_mm = {0, 12, 25};
    t.room_mm = room;
    t.lenses = {{"", 200, 200}};
    return t;
}

/// Largest share of half the frame that a corner of the part or its reference lengths takes in the top view.
double filled(const Task& t, const LensUse& use, double standOff) {
    const Box box = wholeBox(t);
    const Vec3 aim = aimOf(t);
    double w = t.sensor.width_mm, h = t.sensor.height_mm;
    if (use.setup.upright) std::swap(w, h);
    // By hand: an image is v/u of the thing, v from the lens equation.
    const double f = use.setup.focal_mm, v = 1.0 / (1.0 / f - 1.0 / standOff);
    const double nearest = standOff - box.high.z();
    return std::max((box.high.x() - aim.x()) * v / nearest / (w / 2),
                    (box.high.y() - aim.y()) * v / nearest / (h / 2));
}

}  // namespace

TEST_CASE("the part fits with its margin, and a round stand-off comes out") {
    for (const auto& [x, y] : {std::pair{300.0, 200.0}, {60.0, 90.0}, {25.0, 20.0}, {900.0, 150.0}}) {
        const Task t = task(x, y, 60000);
        const auto use = useLens(t, t.lenses[0], 200, standardViews());
        REQUIRE(use);
        const double u = use->setup.standOff_mm;
        CHECK(filled(t, *use, u) <= 1 - 2 * kMargin + 1e-9);
        CHECK(std::fmod(u, 10) == 0.0);
        const Vec3 sides = wholeBox(t).high - wholeBox(t).low;
        CHECK(use->setup.upright == (sides.y() > sides.x()));
        // Pixel on the part: pitch over magnification (textbook).
        CHECK(use->pixel_mm == Approx(t.sensor.pitch_mm() / (200 / (u - 200))).epsilon(1e-12));
        CHECK(use->fieldX_mm * use->fieldY_mm ==
              Approx(36 * 24 / std::pow(use->setup.magnification, 2)).epsilon(1e-3));
    }
}

TEST_CASE("a room too short, and a lens that focuses too far away, are told apart") {
    Task t = task(300, 200, 1500);
    const auto shown = useLens(t, t.lenses[0], 200, standardViews());
    REQUIRE_FALSE(shown);
    CHECK(shown.error().what.find("margin") != std::string::npos);
    t = task(20, 20, 1500);
    t.lenses[0].closest_mm = 2500;
    const auto focused = useLens(t, t.lenses[0], 200, standardViews());
    REQUIRE_FALSE(focused);
    CHECK(focused.error().what.find("focuses") != std::string::npos);
    t.room_mm = 5000;
    const auto use = useLens(t, t.lenses[0], 200, standardViews());
    REQUIRE(use);
    // Object and image distance together reach the closest focus, which counts from the image plane.
    const double u = use->setup.standOff_mm;
    CHECK(u + 200 * u / (u - 200) >= 2500);
}

TEST_CASE("the aperture balances defocus and diffraction") {
    const Task t = task();
    const auto use = useLens(t, t.lenses[0], 200, standardViews());
    REQUIRE(use);
    // By hand at each stop: no other is better for the views together.
    const auto cost = [&](double N) {
        Lens one = t.lenses[0];
        one.widest = one.narrowest = N;
        const LensUse other = refocused(t, one, *use, standardViews());
        double sum = 0;
        for (const auto& [view, blur] : other.blur_px) sum += std::pow(std::max(1.0, blur), 2);
        return sum;
    };
    for (const double N : {4.0, 5.6, 8.0, 11.0, 16.0, 22.0})
        CHECK(cost(use->setup.fNumber) <= cost(N) + 0.02);
    // A flat part seen from above alone needs no depth: the lens is not stopped down.
    Task flat = task();
    flat.heights_mm = {0};
    CHECK(refocused(flat, t.lenses[0], *use, {"top"}).setup.fNumber < 16);
    CHECK(use->nearest_mm < use->setup.standOff_mm);
    CHECK(use->furthest_mm > use->setup.standOff_mm);
}

TEST_CASE("height shift is that of similar triangles") {
    // Worked in the trade's literature: r 75, h 10: 0.30 at 2500, 1.53 at 500; a 1.6 board 0.05 (derived).
    CHECK(heightShift(2500, 75, 10) == Approx(0.30).margin(0.005));
    CHECK(heightShift(500, 75, 10) == Approx(1.53).margin(0.005));
    CHECK(heightShift(2500, 75, 1.6) == Approx(0.05).margin(0.005));
}
