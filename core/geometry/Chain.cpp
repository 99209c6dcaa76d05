// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/geometry/Chain.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "core/geometry/Intersect.h"
#include "core/geometry/Piece.h"

namespace trammel::geometry {
namespace {

double cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }

/// Area between chord and arc over d², signed like the bulge: (1/8b²)((1+b²)² atan b − b(1−b²)); the series
/// keeps full precision where that difference cancels.
double segmentFactor(double b) {
    const double q = b * b;
    if (std::abs(b) < 0.03) return b * (1.0 / 3 + q * (1.0 / 15 + q * (-1.0 / 105 + q / 315)));
    return ((1 + q) * (1 + q) * std::atan(b) - b * (1 - q)) / (8 * q);
}

/// Crossings of the ray from p along +x with the part of an arc between two angles that is monotone in y.
bool rayCrossesArcPart(const Circle& c, double from, double to, const Vec2& a, const Vec2& b, const Vec2& p) {
    if ((a.y() <= p.y()) == (b.y() <= p.y())) return false;
    const double dy = p.y() - c.centre.y();
    const double half = std::sqrt(std::max(0.0, (c.radius - dy) * (c.radius + dy)));
    const double side = std::cos(0.5 * (from + to)) > 0 ? 1.0 : -1.0;
    return c.centre.x() + side * half > p.x();
}

int rayCrossings(const Piece& piece, const Vec2& p) {
    if (!piece.isArc()) {
        if ((piece.from.y() <= p.y()) == (piece.to.y() <= p.y())) return 0;
        const double t = (p.y() - piece.from.y()) / (piece.to.y() - piece.from.y());
        return piece.from.x() + t * (piece.to.x() - piece.from.x()) > p.x() ? 1 : 0;
    }
    // Split at the highest and lowest points of the circle, where y turns back.
    const double half = std::numbers::pi / 2, sign = piece.sweep > 0 ? 1.0 : -1.0;
    const double end = piece.startAngle + piece.sweep;
    std::vector<double> cuts{piece.startAngle};
    for (int k = -6; k <= 6; ++k) {
        const double cut = sign * k * std::numbers::pi + half;
        if (sign * (cut - piece.startAngle) > 0 && sign * (end - cut) > 0) cuts.push_back(cut);
    }
    cuts.push_back(end);
    std::sort(cuts.begin(), cuts.end(), [sign](double u, double v) { return sign * u < sign * v; });
    int count = 0;
    Vec2 a = piece.from;
    for (std::size_t i = 1; i < cuts.size(); ++i) {
        const bool last = i + 1 == cuts.size();
        const Vec2 rim =
            piece.circle.centre + piece.circle.radius * Vec2(std::cos(cuts[i]), std::sin(cuts[i]));
        const Vec2 b = last ? piece.to : rim;
        count += rayCrossesArcPart(piece.circle, cuts[i - 1], cuts[i], a, b, p);
        a = b;
    }
    return count;
}

/// The second point where the curves of two neighbours meet, given that they meet at p. Found by reflection,
/// which stays exact for tangents, where solving for both points would lose half the digits.
std::vector<Vec2> otherMeeting(const Piece& a, const Piece& b, const Vec2& p) {
    if (!a.isArc() && !b.isArc()) return {};
    if (a.isArc() && b.isArc()) {
        if ((a.circle.centre - b.circle.centre).norm() <= 1e-12 * (a.circle.radius + b.circle.radius))
            return {};
        return {2 * foot(Line{a.circle.centre, b.circle.centre - a.circle.centre}, p) - p};
    }
    const Piece& line = a.isArc() ? b : a;
    const Piece& arc = a.isArc() ? a : b;
    if (line.from == line.to) return {};
    return {2 * foot(Line{line.from, line.to - line.from}, arc.circle.centre) - p};
}

/// Neighbours a → b with the common vertex a.to = b.from; `closes` when they share the other ends as well.
bool neighboursClash(const Piece& a, const Piece& b, bool closes, double tolerance) {
    const Vec2 p = a.to;
    if (closes) return distance(b, a.middle()) <= tolerance || distance(a, b.middle()) <= tolerance;
    if (distance(b, a.from) <= tolerance || distance(a, b.to) <= tolerance) return true;
    for (const Vec2& q : otherMeeting(a, b, p)) {
        const double radius = std::min(a.isArc() ? a.circle.radius : b.circle.radius,
                                       b.isArc() ? b.circle.radius : a.circle.radius);
        const double reach = (q - p).norm();
        // Between p and q the pieces part by at most the sagitta: a tangent joint within the tolerance.
        if (reach <= tolerance || reach * reach <= 8 * radius * tolerance) continue;
        if (distance(a, q) <= tolerance && distance(b, q) <= tolerance) return true;
    }
    return false;
}

}  // namespace

Circle arcOf(const Vec2& from, const Vec2& to, double bulge) {
    const Vec2 d = to - from;
    const double b2 = bulge * bulge;
    return {0.5 * (from + to) + (1 - b2) / (4 * bulge) * Vec2(-d.y(), d.x()),
            d.norm() * (1 + b2) / (4 * std::abs(bulge))};
}

double signedArea(const Chain& chain) {
    double area = 0.0;
    if (chain.vertices.empty()) return area;
    const Vec2 o = chain.vertices.front().point;  // a near origin keeps the digits of a far chain
    for (const Piece& p : pieces(chain)) {
        area += 0.5 * cross(p.from - o, p.to - o);
        if (p.isArc()) area += segmentFactor(p.bulge) * (p.to - p.from).squaredNorm();
    }
    return area;
}

double perimeter(const Chain& chain) {
    double length = 0.0;
    for (const Piece& p : pieces(chain)) {
        const double b = p.bulge, chord = (p.to - p.from).norm();
        length += std::abs(b) < 1e-8 ? chord : chord * (1 + b * b) * std::atan(b) / b;
    }
    return length;
}

bool isSimple(const Chain& chain, double tolerance) {
    const std::vector<Piece> list = pieces(chain);
    const std::size_t n = list.size();
    if (n < 2) return false;
    std::vector<Bounds> boxes;
    for (const Piece& p : list) {
        if ((p.to - p.from).norm() <= tolerance) return false;
        boxes.push_back(p.bounds());
    }
    // Sorted by their left ends, only pieces whose x ranges overlap are compared.
    std::vector<std::size_t> order(n);
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(),
              [&](std::size_t i, std::size_t j) { return boxes[i].low.x() < boxes[j].low.x(); });
    for (std::size_t u = 0; u < n; ++u)
        for (std::size_t v = u + 1; v < n; ++v) {
            const std::size_t i = std::min(order[u], order[v]), j = std::max(order[u], order[v]);
            if (boxes[order[v]].low.x() > boxes[order[u]].high.x() + tolerance) break;
            bool clash;
            if (n == 2)
                clash = neighboursClash(list[0], list[1], true, tolerance);
            else if (j == i + 1)
                clash = neighboursClash(list[i], list[j], false, tolerance);
            else if (i == 0 && j == n - 1)
                clash = neighboursClash(list[j], list[i], false, tolerance);
            else
                clash = touch(list[i], list[j], tolerance);
            if (clash) return false;
        }
    return true;
}

bool contains(const Chain& chain, const Vec2& point) {
    int crossings = 0;
    for (const Piece& p : pieces(chain)) crossings += rayCrossings(p, point);
    return crossings % 2 == 1;
}

bool touch(const Chain& a, const Chain& b, double tolerance) {
    const std::vector<Piece> pa = pieces(a), pb = pieces(b);
    for (const Piece& p : pa)
        for (const Piece& q : pb)
            if (touch(p, q, tolerance)) return true;
    return false;
}

Bounds bounds(const Chain& chain) {
    const std::vector<Piece> list = pieces(chain);
    if (list.empty()) return {};
    Bounds box = list.front().bounds();
    for (const Piece& p : list) box = united(box, p.bounds());
    return box;
}

Bounds united(const Bounds& a, const Bounds& b) { return {a.low.cwiseMin(b.low), a.high.cwiseMax(b.high)}; }

Chain reversed(const Chain& chain) {
    Chain out;
    const auto& v = chain.vertices;
    const std::size_t n = v.size();
    for (std::size_t k = 0; k < n; ++k) {
        const std::size_t i = n - 1 - k;
        out.vertices.push_back({v[i].point, -v[(i + n - 1) % n].bulge});
    }
    return out;
}

Chain mirrored(const Chain& chain) {
    Chain out = chain;
    for (Vertex& v : out.vertices) {
        v.point.x() = -v.point.x();
        v.bulge = -v.bulge;
    }
    return reversed(out);
}

Chain circleChain(const Circle& c) {
    return {{{c.centre - Vec2(c.radius, 0), 1.0}, {c.centre + Vec2(c.radius, 0), 1.0}}};
}

}  // namespace trammel::geometry
