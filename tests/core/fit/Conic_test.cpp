// SPDX-License-Identifier: GPL-3.0-or-later
// Conic fits against Gander, Golub and Strebel (BIT 34, 1994), and foot points against dense search.
#include "core/fit/Conic.h"

#include <Cases.h>

#include <Eigen/LU>

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numbers>

using namespace trammel;
using namespace trammel::fit;

namespace {

std::vector<Vec2> pointsOf(const std::string& set) {
    std::vector<Vec2> out;
    const test::Cases cases("fits-conic-points");
    for (const auto& row : cases.rows())
        if (row.text("set") == set) out.emplace_back(row.number("x"), row.number("y"));
    return out;
}

double residualNorm(const std::vector<Vec2>& points, const Ellipse& e) {
    const EllipseDistance distance(e);
    double sum = 0.0;
    for (const Vec2& p : points) sum += std::pow(distance.foot(p).distance, 2);
    return std::sqrt(sum);
}

}  // namespace

TEST_CASE("Circle and ellipse of Gander, Golub and Strebel") {
    const test::Cases cases("fits-conic-solutions");
    for (const auto& row : cases.rows()) {
        INFO(row.text("set"));
        const std::vector<Vec2> points = pointsOf(row.text("set"));
        std::optional<Ellipse> e = fitCircle(points);
        REQUIRE(e);
        if (row.has("angle")) e = fitEllipse(points, *e);
        REQUIRE(e);
        const Axes axes = axesOf(*e);
        CHECK(e->centre.x() == Approx(row.number("x")).margin(2e-6));
        CHECK(e->centre.y() == Approx(row.number("y")).margin(2e-6));
        CHECK(axes.a == Approx(row.number("a")).margin(2e-6));
        CHECK(axes.b == Approx(row.number("b")).margin(2e-6));
        if (row.has("angle")) CHECK(axes.angle == Approx(row.number("angle")).margin(2e-6));
        CHECK(residualNorm(points, *e) == Approx(row.number("residual_norm")).margin(5e-6));
    }
}

TEST_CASE("Foot point on an ellipse is the nearest of 200 000 points on it") {
    Ellipse e;
    e.centre = Vec2(3, -2);
    e.shape << 9, 2.5, 2.5, 4;
    const EllipseDistance distance(e);
    for (const Vec2& p :
         {Vec2(3.2, -1.7), Vec2(14, 5), Vec2(-4, -2), Vec2(3, 3.5), Vec2(11.3, 1.1), Vec2(3, -2.01)}) {
        double least = 1e300;
        for (int i = 0; i < 200000; ++i)
            least = std::min(least, (distance.pointAt(i * 2e-5 * std::numbers::pi / 2.0) - p).norm());
        const Foot f = distance.foot(p);
        CHECK(std::abs(f.distance) == Approx(least).margin(1e-6));
        CHECK((f.point + f.distance * f.normal - p).norm() < 1e-6);
        const Vec2 u = e.shape.inverse() * (p - e.centre);
        CHECK((f.distance > 0) == (u.norm() > 1.0));
    }
}

TEST_CASE("Conic fits refuse what is no conic") {
    CHECK_FALSE(fitCircle({Vec2(0, 0), Vec2(1, 1)}));
    CHECK_FALSE(fitCircle({Vec2(0, 0), Vec2(1, 1), Vec2(2, 2), Vec2(5, 5)}));
    CHECK_FALSE(fitCircle({Vec2(1, 1), Vec2(1, 1), Vec2(1, 1)}));
    CHECK_FALSE(
        fitEllipse({Vec2(0, 0), Vec2(1, 0), Vec2(0, 1), Vec2(1, 1)}, Ellipse::circle(Vec2(0.5, 0.5), 0.7)));
}
