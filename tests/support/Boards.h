// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cmath>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/survey/Survey.h"

/// Adjusted surveys made by hand: geometry known exactly, no photographs behind it. All shapes are invented.
namespace trammel::boards {

using survey::FeatureKind;
using survey::Id;
using survey::OutlinePurpose;
using survey::Quantity;

struct Board {
    survey::Survey survey;
    adjust::Solution solution;

    Board() {
        survey.title = "Demo board";
        survey.unit = "no. 1";
        survey.note = "Invented demo data.";
        level("L1", "base", 0.0);
    }
    void level(const Id& id, const std::string& name, double height) {
        survey.levels.push_back({id, name});
        solution.levels[id] = height;
    }
    void feature(const Id& id, FeatureKind kind, const Id& lvl, const adjust::FeatureGeometry& g) {
        survey.features.push_back({id, id, kind, lvl});
        solution.features[id] = g;
        solution.features[id].kind = kind;
        solution.features[id].point.z() = solution.levels.at(lvl);
    }
    void corner(const Id& id, Vec2 p, const Id& lvl = "L1") {
        adjust::FeatureGeometry g;
        g.point = Vec3(p.x(), p.y(), 0);
        feature(id, FeatureKind::Corner, lvl, g);
    }
    /// The marked part lies between a and b.
    void edge(const Id& id, Vec2 a, Vec2 b, const Id& lvl = "L1") {
        adjust::FeatureGeometry g;
        const Vec2 m = 0.5 * (a + b);
        g.point = Vec3(m.x(), m.y(), 0);
        g.direction = (b - a).normalized();
        g.spanFrom = a, g.spanTo = b;
        feature(id, FeatureKind::Edge, lvl, g);
    }
    /// Marked anticlockwise from one angle to the other, degrees.
    void arc(const Id& id, Vec2 c, double r, double from, double to, const Id& lvl = "L1") {
        adjust::FeatureGeometry g;
        g.point = Vec3(c.x(), c.y(), 0);
        g.radius = r;
        const auto rim = [&](double deg) {
            const double t = deg * std::numbers::pi / 180;
            return Vec2(c + r * Vec2(std::cos(t), std::sin(t)));
        };
        g.spanFrom = rim(from), g.spanTo = rim(to);
        feature(id, FeatureKind::Arc, lvl, g);
    }
    void hole(const Id& id, Vec2 c, double diameter, const Id& lvl = "L1") {
        adjust::FeatureGeometry g;
        g.point = Vec3(c.x(), c.y(), 0);
        g.radius = diameter / 2;
        feature(id, FeatureKind::Hole, lvl, g);
    }
    void outline(const Id& id, OutlinePurpose purpose, std::vector<Id> chain, const Id& lvl = "L1") {
        survey.outlines.push_back({id, id, purpose, lvl, std::move(chain)});
    }
    void dimension(const Id& id, Quantity q, std::vector<Id> objects, double value, double plusMinus) {
        survey.dimensions.push_back({id, id, q, std::move(objects), false});
        solution.dimensions.push_back({survey.dimensions.back(), value, plusMinus});
    }
};

/// 120 × 80, three rounded corners of 5, one square corner with a 20 × 10 notch, a 16 × 6 slot, four holes
/// of 3.2, and a raised level at +12.5 with a window of 30 × 20 and a hole of 6.
inline Board demoBoard() {
    Board b;
    b.edge("E1", {10, 0}, {110, 0});
    b.arc("A1", {115, 5}, 5, -80, -10);
    b.edge("E2", {120, 10}, {120, 60});
    b.edge("E3", {118, 70}, {102, 70});
    b.edge("E4", {100, 72}, {100, 78});
    b.edge("E5", {90, 80}, {10, 80});
    b.arc("A2", {5, 75}, 5, 100, 170);
    b.edge("E6", {0, 70}, {0, 10});
    b.arc("A3", {5, 5}, 5, 190, 260);
    b.outline("O1", OutlinePurpose::Outline, {"E1", "A1", "E2", "E3", "E4", "E5", "A2", "E6", "A3"});
    b.edge("E7", {50, 57}, {60, 57});
    b.arc("A4", {60, 60}, 3, -80, 80);
    b.edge("E8", {60, 63}, {50, 63});
    b.arc("A5", {50, 60}, 3, 100, 260);
    b.outline("O2", OutlinePurpose::Cutout, {"E7", "A4", "E8", "A5"});
    b.hole("H1", {8, 8}, 3.2);
    b.hole("H2", {112, 8}, 3.2);
    b.hole("H3", {92, 66}, 3.2);
    b.hole("H4", {8, 72}, 3.2);
    b.level("L2", "shelf", 12.5);
    b.corner("C1", {30, 20}, "L2");
    b.corner("C2", {60, 20}, "L2");
    b.corner("C3", {60, 40}, "L2");
    b.corner("C4", {30, 40}, "L2");
    b.outline("O3", OutlinePurpose::Cutout, {"C1", "C2", "C3", "C4"}, "L2");
    b.hole("H5", {80, 30}, 6, "L2");
    b.outline("O4", OutlinePurpose::Cutout, {"H5"}, "L2");
    b.dimension("D1", Quantity::Distance, {"E6", "E2"}, 120.0, 0.034);
    b.dimension("D2", Quantity::Distance, {"E1", "E5"}, 80.0, 0.031);
    b.dimension("D3", Quantity::Distance, {"H1", "H2"}, 104.0, 0.0213);
    b.dimension("D4", Quantity::OffsetY, {"H1", "H4"}, 64.0, 0.025);
    b.dimension("D5", Quantity::Diameter, {"H1"}, 3.2, 0.0412);
    b.dimension("D6", Quantity::Diameter, {"H5"}, 6.0, 0.0996);
    b.dimension("D7", Quantity::Radius, {"A1"}, 5.0, 0.11);
    b.dimension("D8", Quantity::Height, {"L2"}, 12.5, 0.018);
    b.dimension("D9", Quantity::Distance, {"H1", "H3"}, std::hypot(84.0, 58.0), 0.022);
    b.dimension("D10", Quantity::Distance, {"H2", "E1"}, 8.0, 0.027);
    b.dimension("D11", Quantity::Angle, {"E1", "E2"}, std::numbers::pi / 2, 0.0005);
    return b;
}

/// Two edges in nearly one line have no corner to speak of.
inline bool hasStraightCorner(const std::vector<Vec2>& p) {
    for (std::size_t i = 0; i < p.size(); ++i) {
        const Vec2 u = (p[(i + 1) % p.size()] - p[i]).normalized();
        const Vec2 v = (p[(i + 2) % p.size()] - p[(i + 1) % p.size()]).normalized();
        if (std::abs(u.x() * v.y() - u.y() * v.x()) < 0.15) return true;
    }
    return false;
}

/// A closed outline round (60, 40) of 5 to 14 edges, every corner sharp, rounded or chamfered at random, then
/// turned and shifted; with 0 to 6 holes near its middle. `truth` is its area by the shoelace and corner
/// pieces.
inline Board randomBoard(unsigned seed, double& truth) {
    std::mt19937 rng(seed);
    std::uniform_real_distribution<double> unit(0, 1);
    Board b;
    const int n = 5 + static_cast<int>(unit(rng) * 10);
    const Vec2 shift(200 * (unit(rng) - 0.5), 200 * (unit(rng) - 0.5));
    const auto ring = [&] {
        std::vector<Vec2> points;
        for (int i = 0; i < n; ++i) {
            const double t = 2 * std::numbers::pi * (i + 0.5 * unit(rng)) / n;
            points.push_back(shift +
                             (60 + (i % 2 ? 14 : 0) + 5 * unit(rng)) * Vec2(std::cos(t), std::sin(t)));
        }
        return points;
    };
    std::vector<Vec2> p = ring();
    while (hasStraightCorner(p)) p = ring();
    truth = 0;
    std::vector<Id> chain;
    for (int i = 0; i < n; ++i) {
        const Vec2 a = p[static_cast<std::size_t>(i)], c = p[static_cast<std::size_t>((i + 1) % n)],
                   e = p[static_cast<std::size_t>((i + 2) % n)];
        truth += 0.5 * (a.x() * c.y() - a.y() * c.x());
        const Id k = std::to_string(i), edge = Id("E").append(k), arc = Id("A").append(k);
        b.edge(edge, a + 0.35 * (c - a), a + 0.65 * (c - a));
        chain.push_back(edge);
        if (unit(rng) < 0.5) continue;
        // Round the corner at c: tangent length s along both edges.
        const Vec2 u = (a - c).normalized(), v = (e - c).normalized();
        const double turn = u.x() * v.y() - u.y() * v.x();  // negative at a convex corner
        const double half = 0.5 * std::atan2(std::abs(turn), u.dot(v));
        const double s = 0.3 * unit(rng) * std::min((a - c).norm(), (e - c).norm()) + 0.05;
        const double r = s * std::tan(half);
        const Vec2 m = c + (u + v).normalized() * (s / std::cos(half));
        const Vec2 t0 = c + s * u - m, t1 = c + s * v - m;
        double from = std::atan2(t0.y(), t0.x()), to = std::atan2(t1.y(), t1.x());
        if (turn > 0) std::swap(from, to);
        while (to < from) to += 2 * std::numbers::pi;
        const double in = 0.1 * (to - from), deg = 180 / std::numbers::pi;
        b.arc(arc, m, r, (from + in) * deg, (to - in) * deg);
        chain.push_back(arc);
        const double cut = s * r - (std::numbers::pi / 2 - half) * r * r;  // kite less sector
        truth += turn < 0 ? -cut : cut;
    }
    b.outline("O1", OutlinePurpose::Outline, chain);
    for (int i = 0, holes = static_cast<int>(7 * unit(rng)); i < holes; ++i)
        b.hole(Id("H").append(std::to_string(i)), shift + Vec2(8.0 * i - 20, 10 * unit(rng)),
               1 + 5 * unit(rng));
    return b;
}

}  // namespace trammel::boards
