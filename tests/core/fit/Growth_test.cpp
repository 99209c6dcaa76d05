// SPDX-License-Identifier: GPL-3.0-or-later
// What a wrong tone curve does to fitted edges, against pictures written through such a curve.
#include <catch2/catch.hpp>
#include <cmath>

#include "Pictures.h"
#include "core/fit/EdgeFit.h"
#include "core/fit/Growth.h"

using namespace trammel;

namespace {

constexpr double kShareOfExponent = 0.95;  // Growth.h: shift for a unit of e, share and blur

/// As a camera writes it that codes light^(1+e) where sRGB codes light.
photo::LinearImage bent(photo::LinearImage image, double e) {
    for (float& v : image.data) v = static_cast<float>(std::pow(std::max(0.0F, v), 1.0 + e));
    return image;
}

photo::LinearImage picture(const std::function<double(const Vec2&)>& light) {
    return pictures::take(120, 120, light, {0.0, false, 1});
}

struct Shift {
    double dark = 0.0;    ///< px towards the dark side, mean over the points
    double growth = 0.0;  ///< what the fit says of a unit of growth, px
};

Shift shiftOf(double dark, double light, double blur, double e) {
    const Vec2 n = Vec2(1.0, 0.13).normalized();  // towards the light side
    const auto image = bent(picture(pictures::halfPlane(n, 60.3, dark, light, blur)), e);
    const Vec2 along(-n.y(), n.x()), on = 60.3 * n;
    const auto fit = fit::fitEdge(image, on + 20.0 * along, on + 100.0 * along);
    REQUIRE(fit);
    Shift out;
    for (const fit::FitPoint& p : fit->points) {
        out.dark += (60.3 - n.dot(p.px)) / static_cast<double>(fit->points.size());
        out.growth += -n.dot(p.growth_px) / static_cast<double>(fit->points.size());
        CHECK(std::abs(along.dot(p.growth_px)) < 0.02 * p.growth_px.norm());
    }
    return out;
}

}  // namespace

TEST_CASE("an edge moves under another tone curve as its growth says, whatever its blur and its levels") {
    for (const double blur : {0.7, 1.0, 1.6})
        for (const auto& [dark, light] : {std::pair(0.003, 0.9), std::pair(0.02, 0.8), std::pair(0.1, 0.8),
                                          std::pair(0.25, 0.5), std::pair(0.01, 0.2), std::pair(0.05, 0.1)}) {
            constexpr double e = 0.06;
            const Shift more = shiftOf(dark, light, blur, e), less = shiftOf(dark, light, blur, -e);
            CAPTURE(blur, dark, light, more.dark, less.dark, more.growth);
            const double perUnit = 0.5 * (less.dark - more.dark) / e;  // dark grows where codes are too low
            CHECK(more.growth > 0.0);
            CHECK(perUnit == Approx(kShareOfExponent * 0.5 * (more.growth + less.growth)).epsilon(0.10));
        }
}

TEST_CASE("growth vanishes where there is no step, and never turns round") {
    CHECK(fit::growthShare(0.5, 0.5) == 0.0);
    CHECK(fit::growthShare(0.0, 0.9) == 1.0);
    CHECK(fit::growthShare(-0.01, 0.9) == 1.0);
    CHECK(fit::growthShare(0.1, 0.0) == 0.0);
    for (double r = 0.0; r < 0.99; r += 0.01)
        CHECK(fit::growthShare(r, 1.0) > fit::growthShare(r + 0.01, 1.0));
}

TEST_CASE("a corner moves as the intersection of its two edges does") {
    const Vec2 at(58.4, 61.7);
    const double turn = 0.2, e = 0.06;
    const auto light = pictures::rightCorner(at, turn, 0.05, 0.8, 0.9);
    const Vec2 a(std::cos(turn), std::sin(turn)), b(-std::sin(turn), std::cos(turn));
    const auto fitted = [&](double bend) {
        const auto fit = fit::fitCorner(bent(picture(light), bend), at, at - 40.0 * a, at - 40.0 * b);
        REQUIRE(fit);
        return fit->points.at(0);
    };
    const fit::FitPoint more = fitted(e), less = fitted(-e);
    const Vec2 perUnit = 0.5 / e * (less.px - more.px),
               said = kShareOfExponent * 0.5 * (more.growth_px + less.growth_px);
    CAPTURE(perUnit.x(), perUnit.y(), said.x(), said.y());
    CHECK((perUnit - said).norm() < 0.12 * said.norm());
    CHECK(said.dot(a) > 0.5);  // light is the quarter u, v < 0
    CHECK(said.dot(b) > 0.5);
}
