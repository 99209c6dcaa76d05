// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/geometry/Intersect.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>

using namespace trammel;
using namespace trammel::geometry;

// Identities that hold for any figure: a meeting point lies on both curves; a fillet's centre stands at its
// radius from both. Figures by hand: the 3-4-5 triangle.
TEST_CASE("lines and circles meet where school says") {
    CHECK((*intersect(Line{{0, 0}, {1, 1}}, Line{{10, 0}, {-1, 1}}) - Vec2(5, 5)).norm() < 1e-14);
    CHECK_FALSE(intersect(Line{{0, 0}, {1, 1}}, Line{{10, 0}, {2, 2}}));
    const auto two = intersect(Line{{-9, 3}, {1, 0}}, Circle{{0, 0}, 5});
    REQUIRE(two.size() == 2);
    CHECK((two[0] - Vec2(-4, 3)).norm() < 1e-14);
    CHECK((two[1] - Vec2(4, 3)).norm() < 1e-14);
    CHECK(intersect(Line{{0, 5}, {1, 0}}, Circle{{0, 0}, 5}).size() == 1);
    CHECK(intersect(Line{{0, 5.01}, {1, 0}}, Circle{{0, 0}, 5}).empty());
    CHECK(intersect(Line{{0, 5.01}, {1, 0}}, Circle{{0, 0}, 5}, 0.02).size() == 1);
    const auto lens = intersect(Circle{{0, 0}, 5}, Circle{{8, 0}, 5});
    REQUIRE(lens.size() == 2);
    CHECK((lens[0] - Vec2(4, -3)).norm() < 1e-14);
    CHECK((lens[1] - Vec2(4, 3)).norm() < 1e-14);
    CHECK(intersect(Circle{{0, 0}, 5}, Circle{{7, 0}, 2}).size() == 1);
    CHECK((intersect(Circle{{0, 0}, 2}, Circle{{3, 0}, 5})[0] - Vec2(-2, 0)).norm() < 1e-14);  // from inside
    CHECK(intersect(Circle{{0, 0}, 5}, Circle{{0, 0}, 5}).empty());
    CHECK(intersect(Circle{{0, 0}, 5}, Circle{{1, 0}, 2}).empty());
    CHECK(angleBetween(Line{{0, 0}, {1, 0}}, Line{{0, 0}, {-1, 1}}) == Approx(std::atan(1.0)));
    CHECK(signedDistance(Line{{0, 0}, {3, 4}}, {-4, 3}) == Approx(5));
}

TEST_CASE("meeting points lie on both curves, fillets touch both") {
    std::mt19937 rng(2);
    std::uniform_real_distribution<double> unit(-1, 1);
    const auto point = [&] { return Vec2(200 * unit(rng), 200 * unit(rng)); };
    int met = 0;
    for (int round = 0; round < 2000; ++round) {
        const Line a{point(), point()}, b{point(), point()};
        const Circle c{point(), 5 + 100 * std::abs(unit(rng))}, d{point(), 5 + 100 * std::abs(unit(rng))};
        const double r = 1 + 20 * std::abs(unit(rng));
        const double sine = std::sin(angleBetween(a, b));
        if (const auto p = intersect(a, b)) {
            CHECK(std::abs(signedDistance(a, *p)) < 1e-11 / sine);
            CHECK(std::abs(signedDistance(b, *p)) < 1e-11 / sine);
        }
        for (const Vec2& p : intersect(a, c)) {
            CHECK(std::abs(signedDistance(a, p)) < 1e-10);
            CHECK((p - c.centre).norm() == Approx(c.radius).epsilon(1e-12));
            ++met;
        }
        for (const Vec2& p : intersect(c, d)) {
            CHECK((p - c.centre).norm() == Approx(c.radius).epsilon(1e-9));
            CHECK((p - d.centre).norm() == Approx(d.radius).epsilon(1e-9));
        }
        const Vec2 near = point();
        if (const auto f = fillet(a, b, r, near)) {
            CHECK(std::abs(std::abs(signedDistance(a, f->centre)) - r) < 1e-10 / sine);
            CHECK(std::abs(std::abs(signedDistance(b, f->centre)) - r) < 1e-10 / sine);
        }
        if (const auto f = fillet(a, c, r, near)) {
            CHECK(std::abs(std::abs(signedDistance(a, f->centre)) - r) < 1e-10);
            const double gap = (f->centre - c.centre).norm();
            CHECK(std::min(std::abs(gap - c.radius - r), std::abs(gap - std::abs(c.radius - r))) < 1e-6);
        }
    }
    CHECK(met > 500);
}
