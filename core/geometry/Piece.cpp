// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/geometry/Piece.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/geometry/Intersect.h"

namespace trammel::geometry {
namespace {

constexpr double kTwoPi = 2.0 * std::numbers::pi;

double cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }

bool lineLineCross(const Piece& a, const Piece& b) {
    const Vec2 da = a.to - a.from, db = b.to - b.from;
    const double b1 = cross(da, b.from - a.from), b2 = cross(da, b.to - a.from);
    const double a1 = cross(db, a.from - b.from), a2 = cross(db, a.to - b.from);
    return (b1 > 0) != (b2 > 0) && (a1 > 0) != (a2 > 0) && (b1 != 0 || b2 != 0) && (a1 != 0 || a2 != 0);
}

bool onPiece(const Piece& piece, const Vec2& p, double tolerance) {
    if (piece.isArc()) return piece.inSweep(p, tolerance);
    const Vec2 d = piece.to - piece.from;
    const double length = d.norm();
    if (length == 0.0) return (p - piece.from).norm() <= tolerance;
    const double t = (p - piece.from).dot(d) / length;
    return t >= -tolerance && t <= length + tolerance;
}

std::vector<Vec2> candidates(const Piece& a, const Piece& b, double tolerance) {
    if (a.isArc() && b.isArc()) return intersect(a.circle, b.circle, tolerance);
    const Piece& line = a.isArc() ? b : a;
    const Piece& arc = a.isArc() ? a : b;
    return intersect(Line{line.from, line.to - line.from}, arc.circle, tolerance);
}

}  // namespace

Piece::Piece(const Vec2& from_, const Vec2& to_, double bulge_) : from(from_), to(to_), bulge(bulge_) {
    if (from == to) bulge = 0.0;  // an arc without a chord has no circle
    if (!isArc()) return;
    circle = arcOf(from, to, bulge);
    const Vec2 d = from - circle.centre;
    startAngle = std::atan2(d.y(), d.x());
    sweep = 4.0 * std::atan(bulge);
}

Vec2 Piece::at(double t) const {
    if (t == 0.0) return from;
    if (t == 1.0) return to;
    if (!isArc()) return from + t * (to - from);
    const double angle = startAngle + t * sweep;
    return circle.centre + circle.radius * Vec2(std::cos(angle), std::sin(angle));
}

double Piece::length() const { return isArc() ? circle.radius * std::abs(sweep) : (to - from).norm(); }

Vec2 Piece::middle() const {
    if (!isArc()) return 0.5 * (from + to);
    // The sagitta stands at right angles on the chord, to its right for an anticlockwise arc.
    const Vec2 d = to - from;
    return 0.5 * (from + to) + 0.5 * bulge * Vec2(d.y(), -d.x());
}

bool Piece::inSweep(const Vec2& p, double slack_mm) const {
    const Vec2 d = p - circle.centre;
    const double slack = slack_mm / std::max(circle.radius, 1e-300);
    double turn = std::atan2(d.y(), d.x()) - startAngle;
    if (sweep < 0) turn = -turn;
    turn = std::fmod(turn, kTwoPi);
    if (turn < 0) turn += kTwoPi;
    return turn <= std::abs(sweep) + slack || turn >= kTwoPi - slack;
}

Bounds Piece::bounds() const {
    Bounds box{from.cwiseMin(to), from.cwiseMax(to)};
    if (!isArc()) return box;
    for (const Vec2& axis : {Vec2(1, 0), Vec2(0, 1), Vec2(-1, 0), Vec2(0, -1)}) {
        const Vec2 p = circle.centre + circle.radius * axis;
        if (!inSweep(p, 0.0)) continue;
        box.low = box.low.cwiseMin(p);
        box.high = box.high.cwiseMax(p);
    }
    return box;
}

std::vector<Piece> pieces(const Chain& chain) {
    std::vector<Piece> list;
    const auto& v = chain.vertices;
    list.reserve(v.size());
    for (std::size_t i = 0; i < v.size(); ++i)
        list.emplace_back(v[i].point, v[(i + 1) % v.size()].point, v[i].bulge);
    return list;
}

double distance(const Piece& piece, const Vec2& point) {
    const double ends = std::min((point - piece.from).norm(), (point - piece.to).norm());
    if (piece.isArc()) {
        if (!piece.inSweep(point, 0.0)) return ends;
        return std::abs((point - piece.circle.centre).norm() - piece.circle.radius);
    }
    const Vec2 d = piece.to - piece.from;
    const double length = d.norm();
    const double t = length == 0.0 ? -1.0 : (point - piece.from).dot(d) / length;
    return t <= 0.0 || t >= length ? ends : std::abs(cross(d, point - piece.from)) / length;
}

bool touch(const Piece& a, const Piece& b, double tolerance) {
    const Bounds p = a.bounds(), q = b.bounds();
    if ((p.low.array() > q.high.array() + tolerance).any() ||
        (q.low.array() > p.high.array() + tolerance).any())
        return false;
    for (const Vec2* end : {&a.from, &a.to})
        if (distance(b, *end) <= tolerance) return true;
    for (const Vec2* end : {&b.from, &b.to})
        if (distance(a, *end) <= tolerance) return true;
    if (!a.isArc() && !b.isArc()) return lineLineCross(a, b);
    for (const Vec2& c : candidates(a, b, tolerance))
        if (onPiece(a, c, tolerance) && onPiece(b, c, tolerance)) return true;
    return false;
}

}  // namespace trammel::geometry
