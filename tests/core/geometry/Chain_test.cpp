// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/geometry/Chain.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <random>

#include "core/geometry/Piece.h"

using namespace trammel;
using namespace trammel::geometry;

namespace {

constexpr double kPi = std::numbers::pi;

/// The chain as a fine polygon, by walking each arc about its centre: shares nothing with the closed
/// formulas.
std::vector<Vec2> tessellated(const Chain& chain, int steps) {
    std::vector<Vec2> out;
    const auto& v = chain.vertices;
    for (std::size_t i = 0; i < v.size(); ++i) {
        const Vec2 a = v[i].point, b = v[(i + 1) % v.size()].point;
        out.push_back(a);
        if (v[i].bulge == 0) continue;
        const Circle c = arcOf(a, b, v[i].bulge);
        const double start = std::atan2(a.y() - c.centre.y(), a.x() - c.centre.x());
        for (int k = 1; k < steps; ++k) {
            const double t = start + 4 * std::atan(v[i].bulge) * k / steps;
            out.push_back(c.centre + c.radius * Vec2(std::cos(t), std::sin(t)));
        }
    }
    return out;
}

double shoelace(const std::vector<Vec2>& p) {
    double area = 0;
    for (std::size_t i = 0; i < p.size(); ++i) {
        const Vec2 &a = p[i], &b = p[(i + 1) % p.size()];
        area += 0.5 * (a.x() * b.y() - a.y() * b.x());
    }
    return area;
}

double length(const std::vector<Vec2>& p) {
    double sum = 0;
    for (std::size_t i = 0; i < p.size(); ++i) sum += (p[(i + 1) % p.size()] - p[i]).norm();
    return sum;
}

/// Winding number by summing angles.
bool insidePolygon(const std::vector<Vec2>& p, const Vec2& q) {
    double turn = 0;
    for (std::size_t i = 0; i < p.size(); ++i) {
        const Vec2 a = p[i] - q, b = p[(i + 1) % p.size()] - q;
        turn += std::atan2(a.x() * b.y() - a.y() * b.x(), a.dot(b));
    }
    return std::abs(turn) > kPi;
}

/// Corners at growing angles round a centre with moderate bulges: simple for bulges this small.
Chain randomStar(std::mt19937& rng) {
    std::uniform_real_distribution<double> unit(0, 1);
    const int n = 4 + static_cast<int>(unit(rng) * 20);
    Chain chain;
    for (int i = 0; i < n; ++i) {
        const double t = 2 * kPi * (i + 0.3 * unit(rng)) / n, r = 50 * (1 + 0.1 * unit(rng));
        const double bulge = unit(rng) < 0.5 ? 0.0 : 0.4 * (unit(rng) - 0.5) / n;
        chain.vertices.push_back({Vec2(120, -70) + r * Vec2(std::cos(t), std::sin(t)), bulge});
    }
    return chain;
}

Chain rectangle(double x0, double y0, double x1, double y1) {
    return {{{{x0, y0}, 0}, {{x1, y0}, 0}, {{x1, y1}, 0}, {{x0, y1}, 0}}};
}

}  // namespace

// The DXF reference's bulge facts (group code 42): b = tan(angle/4); (0,0)→(10,0) with b = 1 passes (5,−5);
// r = d(1+b²)/(4|b|); the centre lies (1−b²)/(4b) of the chord's left normal from the middle.
TEST_CASE("bulge follows the published definition") {
    const Circle half = arcOf({0, 0}, {10, 0}, 1.0);
    CHECK((half.centre - Vec2(5, 0)).norm() < 1e-14);
    CHECK(half.radius == Approx(5).epsilon(1e-15));
    CHECK((Piece({0, 0}, {10, 0}, 1.0).middle() - Vec2(5, -5)).norm() < 1e-14);
    struct Row {
        double degrees, bulge;
    };
    for (const Row row :
         {Row{90, 0.41421356}, {60, 0.26794919}, {45, 0.19891237}, {180, 1.0}, {270, 2.41421356}}) {
        CHECK(std::tan(row.degrees * kPi / 180 / 4) == Approx(row.bulge).margin(5e-9));
        const Piece p({3, 4}, {9, 1}, row.bulge);
        CHECK(p.sweep * 180 / kPi == Approx(row.degrees).epsilon(1e-7));
        const double chord = (p.to - p.from).norm();
        CHECK(chord == Approx(2 * p.circle.radius * std::sin(row.degrees * kPi / 360)).epsilon(1e-7));
        CHECK((p.from - p.circle.centre).norm() == Approx(p.circle.radius).epsilon(1e-13));
        CHECK((p.to - p.circle.centre).norm() == Approx(p.circle.radius).epsilon(1e-13));
    }
}

TEST_CASE("area, length and bounds of shapes known from school") {
    const Chain circle = circleChain({{7, -3}, 2.5});
    CHECK(signedArea(circle) == Approx(kPi * 6.25).epsilon(1e-14));
    CHECK(perimeter(circle) == Approx(kPi * 5).epsilon(1e-14));
    CHECK((bounds(circle).low - Vec2(4.5, -5.5)).norm() < 1e-13);
    CHECK((bounds(circle).high - Vec2(9.5, -0.5)).norm() < 1e-13);
    CHECK(isSimple(circle));
    // Slot 20 between centres, 6 wide.
    const Chain slot{{{{0, -3}, 0}, {{20, -3}, 1}, {{20, 3}, 0}, {{0, 3}, 1}}};
    CHECK(signedArea(slot) == Approx(120 + 9 * kPi).epsilon(1e-14));
    CHECK(perimeter(slot) == Approx(40 + 6 * kPi).epsilon(1e-14));
    CHECK(bounds(slot).high.x() == Approx(23).epsilon(1e-14));
    CHECK(bounds(slot).low.x() == Approx(-3).epsilon(1e-14));
    CHECK(isSimple(slot));
    CHECK(signedArea(reversed(slot)) == Approx(-signedArea(slot)).epsilon(1e-14));
    CHECK(signedArea(mirrored(slot)) == Approx(signedArea(slot)).epsilon(1e-14));
    CHECK(bounds(mirrored(slot)).low.x() == Approx(-23).epsilon(1e-14));
}

TEST_CASE("flat arcs keep their digits") {
    // For a flat arc the segment is (2/3) chord · sagitta to first order (Archimedes).
    for (const double b : {1e-9, 1e-6, 1e-3, 0.0299999, 0.0300001}) {
        const Chain sliver{{{{0, 0}, b}, {{10, 0}, 0}}};
        const double theta = 4 * std::atan(b), r = arcOf({0, 0}, {10, 0}, b).radius;
        const double expected =
            b < 1e-2 ? 2.0 / 3 * 10 * (b * 5) * (1 + b * b / 5) : r * r / 2 * (theta - std::sin(theta));
        CHECK(signedArea(sliver) == Approx(expected).epsilon(b < 1e-2 ? 1e-11 : 1e-9));
    }
}

TEST_CASE("area, length, bounds and inside agree with a fine polygon") {
    std::mt19937 rng(4);
    std::uniform_real_distribution<double> unit(-1, 1);
    for (int round = 0; round < 100; ++round) {
        const Chain chain = randomStar(rng);
        const auto fine = tessellated(chain, 2000);
        REQUIRE(isSimple(chain));
        CHECK(signedArea(chain) == Approx(shoelace(fine)).epsilon(1e-7));
        CHECK(perimeter(chain) == Approx(length(fine)).epsilon(1e-7));
        const Bounds box = bounds(chain);
        Vec2 low = fine[0], high = fine[0];
        for (const Vec2& p : fine) low = low.cwiseMin(p), high = high.cwiseMax(p);
        CHECK((box.low - low).norm() < 1e-5);
        CHECK((box.high - high).norm() < 1e-5);
        const auto coarse = tessellated(chain, 300);
        for (int k = 0; k < 10; ++k) {
            const Vec2 q = Vec2(120, -70) + 60 * Vec2(unit(rng), unit(rng));
            double nearest = 1e9;
            for (const Piece& p : pieces(chain)) nearest = std::min(nearest, distance(p, q));
            if (nearest > 1e-3) CHECK(contains(chain, q) == insidePolygon(coarse, q));
        }
    }
}

TEST_CASE("inside holds at the height of vertices and of arc tops") {
    const Chain slot{{{{0, -3}, 0}, {{20, -3}, 1}, {{20, 3}, 0}, {{0, 3}, 1}}};
    CHECK(contains(slot, {10, 0}));
    CHECK(contains(slot, {-2.9, 0}));
    CHECK(contains(slot, {22.9, 0}));
    CHECK_FALSE(contains(slot, {-3.1, 0}));
    CHECK_FALSE(contains(slot, {-10, 3}));
    CHECK_FALSE(contains(slot, {-10, -3}));
    const Chain diamond{{{{0, -5}, 0}, {{5, 0}, 0}, {{0, 5}, 0}, {{-5, 0}, 0}}};
    CHECK(contains(diamond, {0, 0}));
    CHECK_FALSE(contains(diamond, {-6, 0}));
    // A C-shaped opening whose arc is longer than half a turn.
    const Chain pacman{{{{0, 0}, 0}, {{5, 0}, std::tan(1.5 * kPi / 4)}, {{0, -5}, 0}}};
    CHECK(signedArea(pacman) == Approx(0.75 * kPi * 25).epsilon(1e-13));
    CHECK(contains(pacman, {-3, -3}));
    CHECK_FALSE(contains(pacman, {2, -2}));
}

TEST_CASE("crossing and touching chains are not simple") {
    CHECK(isSimple(rectangle(0, 0, 10, 5)));
    CHECK_FALSE(isSimple({{{{0, 0}, 0}, {{10, 5}, 0}, {{10, 0}, 0}, {{0, 5}, 0}}}));  // bow tie
    CHECK_FALSE(isSimple({{{{0, 0}, 0}, {{10, 0}, 0}, {{4, 0}, 0}, {{4, 5}, 0}}}));   // doubles back
    CHECK_FALSE(isSimple({{{{0, 0}, 0}, {{10, 0}, 0}, {{10, 5}, 0}, {{5, 0}, 0}, {{0, 5}, 0}}}));  // touches
    CHECK_FALSE(isSimple({{{{0, 0}, 0}, {{10, 0}, 0}, {{10, 0}, 0}, {{0, 5}, 0}}}));  // no length
    CHECK_FALSE(isSimple({{{{0, 0}, 0}, {{10, 0}, 0}}}));                             // no area
    CHECK_FALSE(isSimple({{{{0, 0}, 0.3}, {{10, 0}, -0.3}}}));                        // the same arc
    // A bulge so deep that the arc reaches through the opposite side.
    CHECK_FALSE(isSimple({{{{0, 0}, -1}, {{10, 0}, 0}, {{10, 4}, 0}, {{0, 4}, 0}}}));
    CHECK(isSimple({{{{0, 0}, -1}, {{10, 0}, 0}, {{10, 6}, 0}, {{0, 6}, 0}}}));
    // Lens and moon.
    CHECK(isSimple({{{{0, 0}, 0.3}, {{10, 0}, 0.3}}}));
    CHECK(isSimple({{{{0, 0}, 0.8}, {{10, 0}, -0.3}}}));
}

TEST_CASE("tangent joints are sound in any position") {
    std::mt19937 rng(8);
    std::uniform_real_distribution<double> unit(-1, 1);
    for (int round = 0; round < 200; ++round) {
        const double turn = kPi * unit(rng), r = 0.3 + 5 * std::abs(unit(rng));
        const Vec2 shift = 300 * Vec2(unit(rng), unit(rng));
        const double quarter = std::tan(kPi / 8);
        Chain board{{{{r, 0}, 0},
                     {{60 - r, 0}, quarter},
                     {{60, r}, 0},
                     {{60, 40 - r}, quarter},
                     {{60 - r, 40}, 0},
                     {{r, 40}, quarter},
                     {{0, 40 - r}, 0},
                     {{0, r}, quarter}}};
        for (Vertex& v : board.vertices)
            v.point = shift + Vec2(std::cos(turn) * v.point.x() - std::sin(turn) * v.point.y(),
                                   std::sin(turn) * v.point.x() + std::cos(turn) * v.point.y());
        CHECK(isSimple(board));
        CHECK(signedArea(board) == Approx(2400 - (4 - kPi) * r * r).epsilon(1e-12));
    }
}

TEST_CASE("two chains touch only where they meet") {
    CHECK_FALSE(touch(rectangle(0, 0, 10, 10), rectangle(2, 2, 4, 4)));
    CHECK(touch(rectangle(0, 0, 10, 10), rectangle(8, 8, 12, 12)));
    CHECK(touch(rectangle(0, 0, 10, 10), rectangle(10, 2, 12, 4)));
    CHECK_FALSE(touch(rectangle(0, 0, 10, 10), circleChain({{5, 5}, 4.999})));
    CHECK(touch(rectangle(0, 0, 10, 10), circleChain({{5, 5}, 5.001})));
    CHECK(touch(rectangle(0, 0, 10, 10), circleChain({{5, 5}, 5})));
}
