// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/geometry/Offset.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <polyclipping/clipper.hpp>
#include <random>

#include "core/geometry/Piece.h"

using namespace trammel;
using namespace trammel::geometry;

namespace {

constexpr double kPi = std::numbers::pi;

Chain polygon(std::vector<Vec2> points) {
    Chain c;
    for (const Vec2& p : points) c.vertices.push_back({p, 0.0});
    return c;
}

Chain rectangle(double w, double h) { return polygon({{0, 0}, {w, 0}, {w, h}, {0, h}}); }

std::string sentence(const Chain& c, double d) {
    const auto path = toolPath(c, d);
    return path ? "" : path.error().sentence();
}

/// A ring of points at random distances, joined by straight pieces and arcs of either sense.
Chain randomChain(std::mt19937& rng) {
    std::uniform_real_distribution<double> unit(0, 1);
    for (;;) {
        const int n = 3 + static_cast<int>(12 * unit(rng));
        const double bend = 0.6 * unit(rng);
        Chain c;
        for (int i = 0; i < n; ++i) {
            const double t = 2 * kPi * (i + 0.7 * unit(rng)) / n, r = 10 + 40 * unit(rng);
            c.vertices.push_back(
                {r * Vec2(std::cos(t), std::sin(t)), unit(rng) < 0.5 ? 0.0 : bend * (2 * unit(rng) - 1)});
        }
        if (isSimple(c, 1e-6)) return c;
    }
}

/// A band along x whose width changes at random, so that it falls apart where it shrinks.
Chain randomBand(std::mt19937& rng) {
    std::uniform_real_distribution<double> unit(0, 1);
    for (;;) {
        const int n = 3 + static_cast<int>(6 * unit(rng));
        const double bend = 0.5 * unit(rng);
        std::vector<Vertex> low, high;
        for (int i = 0; i < n; ++i)
            for (auto* side : {&low, &high}) {
                const double x = 9 * i + 4 * unit(rng), y = 0.5 + 9 * unit(rng);
                const double bulge = unit(rng) < 0.5 ? 0.0 : bend * (2 * unit(rng) - 1);
                side->push_back({Vec2(x, side == &low ? -y : y), bulge});
            }
        Chain c{low};
        c.vertices.insert(c.vertices.end(), high.rbegin(), high.rend());
        if (isSimple(c, 1e-6)) return c;
    }
}

/// Corners on an ellipse, each sharp or rounded by an arc that is tangent to both neighbours.
Chain randomConvex(std::mt19937& rng) {
    std::uniform_real_distribution<double> unit(0, 1);
    const int n = 3 + static_cast<int>(8 * unit(rng));
    std::vector<Vec2> p;
    for (int i = 0; i < n; ++i) {
        const double t = 2 * kPi * (i + 0.8 * unit(rng)) / n;
        p.push_back({40 * std::cos(t), 25 * std::sin(t)});
    }
    Chain c;
    const std::size_t m = p.size();
    for (std::size_t i = 0; i < m; ++i) {
        const Vec2 a = p[(i + m - 1) % m] - p[i], b = p[(i + 1) % m] - p[i];
        const Vec2 u = a.normalized(), v = b.normalized();
        if (unit(rng) < 0.5) {
            c.vertices.push_back({p[i], 0.0});
            continue;
        }
        const double s = 0.45 * unit(rng) * std::min(a.norm(), b.norm()) + 1e-3;
        const double turn = kPi - std::acos(std::clamp(u.dot(v), -1.0, 1.0));
        c.vertices.push_back({p[i] + s * u, std::tan(turn / 4)});
        c.vertices.push_back({p[i] + s * v, 0.0});
    }
    return c;
}

constexpr double kUnits = 1e7;  // of the polygon library in a millimetre

ClipperLib::Path sampled(const Chain& chain) {
    ClipperLib::Path path;
    for (const Piece& p : pieces(chain)) {
        // A chord stays within 1e-5 mm of its arc: r θ²/8.
        const int steps =
            p.isArc() ? 1 + static_cast<int>(std::abs(p.sweep) * std::sqrt(p.circle.radius / 8e-5)) : 1;
        for (int i = 0; i < steps; ++i) {
            Vec2 at = p.from;
            if (i > 0) {
                const double t = p.startAngle + p.sweep * i / steps;
                at = p.circle.centre + p.circle.radius * Vec2(std::cos(t), std::sin(t));
            }
            path.emplace_back(std::llround(at.x() * kUnits), std::llround(at.y() * kUnits));
        }
    }
    return path;
}

struct Measures {
    double area = 0.0, length = 0.0;
    std::size_t curves = 0;
};

/// By Clipper 6.4 (A. Johnson), round joins.
Measures byLibrary(const Chain& chain, double d) {
    ClipperLib::ClipperOffset offset(2.0, 2e-5 * kUnits);
    offset.AddPath(sampled(chain), ClipperLib::jtRound, ClipperLib::etClosedPolygon);
    ClipperLib::Paths paths;
    offset.Execute(paths, d * kUnits);
    Measures m;
    for (const auto& path : paths) {
        const double area = ClipperLib::Area(path) / kUnits / kUnits;
        if (std::abs(area) < 1e-6) continue;
        m.area += area, ++m.curves;
        for (std::size_t i = 0; i < path.size(); ++i) {
            const auto &a = path[i], &b = path[(i + 1) % path.size()];
            m.length += std::hypot(static_cast<double>(a.X - b.X), static_cast<double>(a.Y - b.Y)) / kUnits;
        }
    }
    return m;
}

Measures ours(const std::vector<Chain>& chains) {
    Measures m;
    for (const Chain& c : chains) {
        if (std::abs(signedArea(c)) < 1e-6) continue;
        m.area += signedArea(c), m.length += perimeter(c), ++m.curves;
    }
    return m;
}

}  // namespace

TEST_CASE("a rectangle, a circle and a quarter bend by school geometry") {
    const Chain r = rectangle(30, 20);
    const auto out = offsetAll(r, 2);
    REQUIRE(out);
    REQUIRE(out->size() == 1);
    CHECK(out->front().vertices.size() == 8);  // four sides, four quarter circles
    CHECK(signedArea(out->front()) == Approx(600 + 2 * 100 + 4 * kPi).epsilon(1e-12));
    CHECK(perimeter(out->front()) == Approx(100 + 4 * kPi).epsilon(1e-12));
    const auto sharp = offsetAll(r, 2, Corners::Sharp);
    REQUIRE(sharp);
    CHECK(signedArea(sharp->front()) == Approx(34 * 24).epsilon(1e-12));
    const auto in = offsetAll(reversed(r), -2);
    REQUIRE(in);
    CHECK(signedArea(in->front()) == Approx(-26 * 16).epsilon(1e-12));  // still runs clockwise
    CHECK(offsetAll(r, -10.001)->empty());
    const Chain circle = circleChain({{3, 4}, 5});
    CHECK(signedArea(offsetAll(circle, 1.5)->front()) == Approx(6.5 * 6.5 * kPi).epsilon(1e-12));
    CHECK(signedArea(offsetAll(circle, -1.5)->front()) == Approx(3.5 * 3.5 * kPi).epsilon(1e-12));
    CHECK(offsetAll(circle, -5.5)->empty());
    // A fillet of 1 inside a corner is gone once the curve is 1 away on that side.
    const Chain ell = {{{{0, 0}, 0},
                        {{20, 0}, 0},
                        {{20, 10}, 0},
                        {{11, 10}, -std::tan(kPi / 8)},
                        {{10, 11}, 0},
                        {{10, 20}, 0},
                        {{0, 20}, 0}}};
    const auto away = offsetAll(ell, 1.0, Corners::Sharp);
    REQUIRE(away);
    REQUIRE(away->size() == 1);
    CHECK(signedArea(away->front()) == Approx(22 * 12 + 12 * 10).epsilon(1e-9));
}

TEST_CASE("curves fall apart and close over bays") {
    // Two squares of 10 joined by a neck 2 wide and 6 long.
    const Chain dumbbell = polygon({{0, 0},
                                    {10, 0},
                                    {10, 4},
                                    {16, 4},
                                    {16, 0},
                                    {26, 0},
                                    {26, 10},
                                    {16, 10},
                                    {16, 6},
                                    {10, 6},
                                    {10, 10},
                                    {0, 10}});
    const auto two = offsetAll(dumbbell, -1.5);
    REQUIRE(two);
    REQUIRE(two->size() == 2);
    // Two squares of 7, and a little more towards the neck's mouth, where no wall is near.
    CHECK(ours(*two).area > 2 * 49.0);
    CHECK(ours(*two).area == Approx(byLibrary(dumbbell, -1.5).area).epsilon(1e-6));
    // A C whose mouth of 2 closes: an outer border and an island.
    const Chain c = polygon({{0, 0},
                             {20, 0},
                             {20, 9},
                             {15, 9},
                             {15, 5},
                             {5, 5},
                             {5, 15},
                             {15, 15},
                             {15, 11},
                             {20, 11},
                             {20, 20},
                             {0, 20}});
    const auto closed = offsetAll(c, 1.2);
    REQUIRE(closed);
    REQUIRE(closed->size() == 2);
    CHECK(signedArea((*closed)[0]) * signedArea((*closed)[1]) < 0);
    CHECK(ours(*closed).area == Approx(byLibrary(c, 1.2).area).epsilon(1e-6));
}

TEST_CASE("a slot narrower than the beam is refused by its place, an inner corner told") {
    const Chain slotted =
        polygon({{0, 0}, {30, 0}, {30, 20}, {16, 20}, {16, 8}, {15.8, 8}, {15.8, 20}, {0, 20}});
    CHECK(sentence(slotted, 0.05).empty());
    const std::string s = sentence(slotted, 0.15);
    CHECK(s.find("chain: kerf larger than the slot at (16.000, 8.000)") == 0);
    CHECK(s.find("a beam of 0.300 mm cannot follow the edge there") != std::string::npos);
    // The neck of the dumbbell: the path falls apart.
    const Chain neck = polygon({{0, 0},
                                {10, 0},
                                {10, 4.9},
                                {16, 4.9},
                                {16, 0},
                                {26, 0},
                                {26, 10},
                                {16, 10},
                                {16, 5.1},
                                {10, 5.1},
                                {10, 10},
                                {0, 10}});
    CHECK(sentence(neck, -0.15).find("kerf larger than the slot at (1") != std::string::npos);
    CHECK(sentence(circleChain({{0, 0}, 0.1}), -0.15).find("kerf larger") != std::string::npos);
    const Chain ell = polygon({{0, 0}, {20, 0}, {20, 10}, {10, 10}, {10, 20}, {0, 20}});
    const auto path = toolPath(ell, 0.2);
    REQUIRE(path);
    CHECK(path->missed_mm == Approx(0.2 * (std::sqrt(2.0) - 1)).epsilon(1e-9));
    CHECK((path->missedAt - Vec2(10, 10)).norm() < 1e-12);
}

TEST_CASE("what is no chain is refused") {
    Chain bad = rectangle(3, 2);
    bad.vertices[1].point.x() = std::nan("");
    CHECK_FALSE(offsetAll(bad, 1));
    CHECK_FALSE(offsetAll(rectangle(3, 2), std::numeric_limits<double>::infinity()));
    CHECK_FALSE(offsetAll(polygon({{0, 0}, {4, 4}, {4, 0}, {0, 4}}), 0.1));
    CHECK_FALSE(offsetAll({}, 0.1));
}

TEST_CASE("convex chains: area A + dP + πd², length P + 2πd (Steiner)") {
    std::mt19937 rng(3);
    std::uniform_real_distribution<double> unit(0, 1);
    for (int i = 0; i < 500; ++i) {
        INFO("chain " << i);
        const Chain c = randomConvex(rng);
        if (!isSimple(c, 1e-6)) continue;
        const double d = 0.01 + 8 * unit(rng);
        const auto out = offsetAll(c, d);
        REQUIRE(out);
        REQUIRE(out->size() == 1);
        CHECK(signedArea(out->front()) ==
              Approx(signedArea(c) + d * perimeter(c) + kPi * d * d).epsilon(1e-9));
        CHECK(perimeter(out->front()) == Approx(perimeter(c) + 2 * kPi * d).epsilon(1e-8));
        // Going back takes the same chain out again: its rounded corners are followed by the beam.
        const auto back = offsetAll(out->front(), -d);
        REQUIRE(back);
        REQUIRE(back->size() == 1);
        CHECK(signedArea(back->front()) == Approx(signedArea(c)).epsilon(1e-6));
    }
}

TEST_CASE("2 000 random chains: simple closed curves at their distance, area and length as the library's") {
    std::mt19937 rng(11);
    std::uniform_real_distribution<double> unit(0, 1);
    int several = 0, none = 0, refused = 0, compared = 0;
    for (int i = 0; i < 2000; ++i) {
        const Chain c = i % 3 == 0 ? randomBand(rng) : randomChain(rng);
        const double d = (unit(rng) < 0.5 ? -1 : 1) * std::pow(10.0, 2.2 * unit(rng) - 1.2);
        INFO("chain " << i << " at " << d);
        const auto out = offsetAll(c, d);
        if (!out) {
            ++refused;
            UNSCOPED_INFO(out.error().sentence());
            CHECK(out);
            continue;
        }
        several += out->size() > 1, none += out->empty();
        const auto source = pieces(c);
        for (const Chain& curve : *out) {
            CHECK(isSimple(curve, 1e-9));
            for (const Piece& p : pieces(curve)) {
                double least = 1e9;
                for (const Piece& s : source) least = std::min(least, distance(s, p.middle()));
                CHECK(least == Approx(std::abs(d)).margin(kOffsetTolerance_mm).epsilon(0));
            }
        }
        if (i % 10 != 0) continue;  // sampling finely takes time
        ++compared;
        const Measures a = ours(*out), b = byLibrary(c, d);
        CHECK(a.area == Approx(b.area).epsilon(1e-6).margin(5e-3));
        CHECK(a.length == Approx(b.length).epsilon(1e-5).margin(2e-2));
    }
    CHECK(several > 20);
    CHECK(none > 5);
    CHECK(refused == 0);
    CHECK(compared == 200);
}
