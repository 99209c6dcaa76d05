// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/geometry/OffsetPieces.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/geometry/Intersect.h"
#include "core/geometry/Offset.h"

namespace trammel::geometry {
namespace {

constexpr double kSame = kOffsetTolerance_mm;
constexpr double kTwoPi = 2 * std::numbers::pi;

double cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }
Vec2 right(const Vec2& t) { return {t.y(), -t.x()}; }

Vec2 tangent(const Piece& p, const Vec2& at) {
    if (!p.isArc()) return (p.to - p.from).normalized();
    const Vec2 r = (at - p.circle.centre) / p.circle.radius;
    return p.sweep > 0 ? Vec2(-r.y(), r.x()) : Vec2(r.y(), -r.x());
}

/// The piece moved by d to its right; nothing where an arc would turn inside out.
std::optional<Piece> moved(const Piece& p, double d) {
    const Vec2 from = p.from + d * right(tangent(p, p.from)), to = p.to + d * right(tangent(p, p.to));
    if (!p.isArc()) return Piece(from, to, 0.0);
    // To the right of an anticlockwise arc is outside of it.
    const double radius = p.circle.radius + (p.sweep > 0 ? d : -d);
    if (radius < kSame || (to - from).norm() < 1e-12) return std::nullopt;
    return Piece(from, to, p.bulge);
}

/// The round piece about the corner where a runs into b, where their moved pieces part.
std::optional<Piece> aboutCorner(const Piece& a, const Piece& b, double d) {
    const Vec2 in = tangent(a, a.to), out = tangent(b, b.from);
    const double turn = std::atan2(cross(in, out), in.dot(out));
    if (turn * d <= 0 || std::abs(turn * d) < 0.1 * kSame) return std::nullopt;
    return Piece(a.to + d * right(in), b.from + d * right(out), std::tan(turn / 4));
}

/// Where on the piece a point of it lies: 0 at `from`, 1 at `to`; outside of that beside it.
double place(const Piece& p, const Vec2& at) {
    if (!p.isArc()) {
        const Vec2 d = p.to - p.from;
        return (at - p.from).dot(d) / d.squaredNorm();
    }
    const Vec2 r = at - p.circle.centre;
    double turn = std::remainder(std::atan2(r.y(), r.x()) - p.startAngle - 0.5 * p.sweep, kTwoPi);
    return 0.5 + turn / p.sweep;
}

std::vector<Vec2> meetings(const Piece& a, const Piece& b) {
    std::vector<Vec2> list;
    if (a.isArc() && b.isArc()) {
        list = intersect(a.circle, b.circle, 1e-9);
    } else if (a.isArc() || b.isArc()) {
        const Piece &line = a.isArc() ? b : a, &arc = a.isArc() ? a : b;
        list = intersect(Line{line.from, line.to - line.from}, arc.circle, 1e-9);
    } else if (const auto p = intersect(Line{a.from, a.to - a.from}, Line{b.from, b.to - b.from}, 1e-12)) {
        list.push_back(*p);
    }
    // Where curves lie on each other they part at one's end, which is no crossing.
    for (const Vec2& end : {b.from, b.to})
        if (distance(a, end) < 0.1 * kSame) list.push_back(end);
    for (const Vec2& end : {a.from, a.to})
        if (distance(b, end) < 0.1 * kSame) list.push_back(end);
    return list;
}

bool near(const Bounds& a, const Bounds& b, double reach) {
    return (a.low.array() <= b.high.array() + reach).all() && (b.low.array() <= a.high.array() + reach).all();
}

/// Nothing of the chain is nearer to p than this, but for rounding.
bool farEnough(const std::vector<Piece>& chain, const std::vector<Bounds>& boxes, const Vec2& p, double d) {
    for (std::size_t i = 0; i < chain.size(); ++i)
        if (near(boxes[i], {p, p}, d) && distance(chain[i], p) < d - 0.1 * kSame) return false;
    return true;
}

/// The piece between its places s and t.
Piece part(const Piece& p, double s, double t) {
    return {p.at(s), p.at(t), p.isArc() ? std::tan((t - s) * p.sweep / 4) : 0.0};
}

std::vector<Piece> rawPieces(const std::vector<Piece>& chain, double d) {
    std::vector<Piece> raw;
    for (std::size_t i = 0; i < chain.size(); ++i) {
        if (const auto m = moved(chain[i], d)) raw.push_back(*m);
        if (const auto m = aboutCorner(chain[i], chain[(i + 1) % chain.size()], d)) raw.push_back(*m);
    }
    return raw;
}

/// Place of every end among few places: ends nearer to each other than rounding share one.
struct Nodes {
    std::vector<Vec2> at;
    std::size_t of(const Vec2& p) {
        for (std::size_t i = 0; i < at.size(); ++i)
            if ((at[i] - p).norm() <= kSame) return i;
        at.push_back(p);
        return at.size() - 1;
    }
};

struct Link {
    Piece piece;
    std::size_t from, to;
    bool used = false;
};

/// Takes away pieces that lead nowhere as long as they are short enough to be rounding; false when a longer
/// one does.
bool prune(std::vector<Link>& links, std::size_t nodes) {
    for (bool again = true; again;) {
        again = false;
        std::vector<int> in(nodes, 0), out(nodes, 0);
        for (const Link& l : links) ++out[l.from], ++in[l.to];
        for (std::size_t i = 0; i < links.size(); ++i) {
            if (in[links[i].from] > 0 && out[links[i].to] > 0) continue;
            if (links[i].piece.length() > 1e-3) return false;
            links.erase(links.begin() + static_cast<std::ptrdiff_t>(i));
            again = true;
            break;
        }
    }
    return true;
}

/// Of the unused pieces that leave the node, the one that turns left most: the border of the smallest area.
Link* next(std::vector<Link>& links, const Link& last) {
    const Vec2 in = tangent(last.piece, last.piece.to);
    Link* best = nullptr;
    double most = 0;
    for (Link& l : links) {
        if (l.used || l.from != last.to) continue;
        const Vec2 out = tangent(l.piece, l.piece.from);
        const double turn = std::atan2(cross(in, out), in.dot(out));
        if (!best || turn > most) best = &l, most = turn;
    }
    return best;
}

}  // namespace

std::vector<Piece> keptPieces(const Chain& source, double d) {
    const auto chain = pieces(source);
    const auto raw = rawPieces(chain, d);
    std::vector<Bounds> chainBoxes, boxes;
    for (const Piece& p : chain) chainBoxes.push_back(p.bounds());
    for (const Piece& p : raw) boxes.push_back(p.bounds());
    std::vector<Piece> kept;
    for (std::size_t i = 0; i < raw.size(); ++i) {
        std::vector<double> cuts{0.0, 1.0};
        const double slack = kSame / std::max(raw[i].length(), kSame);
        for (std::size_t j = 0; j < raw.size(); ++j) {
            if (i == j || !near(boxes[i], boxes[j], kSame)) continue;
            for (const Vec2& at : meetings(raw[i], raw[j])) {
                const double t = place(raw[i], at);
                if (t > slack && t < 1 - slack && distance(raw[j], at) < kSame) cuts.push_back(t);
            }
        }
        std::sort(cuts.begin(), cuts.end());
        double from = 0.0;
        for (std::size_t k = 1; k < cuts.size(); ++k) {
            if (cuts[k] - from < slack && cuts[k] < 1.0) continue;
            if (farEnough(chain, chainBoxes, raw[i].at(0.5 * (from + cuts[k])), std::abs(d)))
                kept.push_back(part(raw[i], from, cuts[k]));
            from = cuts[k];
        }
    }
    return kept;
}

std::optional<std::vector<Chain>> joinPieces(std::vector<Piece> kept) {
    Nodes nodes;
    std::vector<Link> links;
    for (const Piece& p : kept) {
        const std::size_t a = nodes.of(p.from), b = nodes.of(p.to);
        if (a == b && p.length() < 10 * kSame) continue;
        const bool twice = std::any_of(links.begin(), links.end(), [&](const Link& l) {
            return l.from == a && l.to == b && (l.piece.middle() - p.middle()).norm() < 10 * kSame;
        });
        if (!twice) links.push_back({p, a, b});
    }
    if (!prune(links, nodes.at.size())) return std::nullopt;
    std::vector<Chain> out;
    for (Link& start : links) {
        if (start.used) continue;
        Chain c;
        for (Link* l = &start; l != nullptr;) {
            l->used = true;
            c.vertices.push_back({nodes.at[l->from], l->piece.bulge});
            if (l->to == start.from) break;
            l = next(links, *l);
            if (l == nullptr) return std::nullopt;
        }
        out.push_back(c);
    }
    return out;
}

}  // namespace trammel::geometry
