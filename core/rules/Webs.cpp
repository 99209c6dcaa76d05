// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/rules/Webs.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>

#include "core/survey/Names.h"

namespace trammel::rules {
namespace {

using geometry::Bounds;
using geometry::Chain;
using geometry::Piece;
using survey::OutlinePurpose;

constexpr double kCorner = 3.0;  // way along over way across, below which it is a corner
constexpr int kLooks = 16;

Vec2 nearest(const Piece& p, const Vec2& at) {
    if (p.isArc()) {
        const Vec2 d = at - p.circle.centre;
        if (d.norm() > 1e-12) {
            const Vec2 rim = p.circle.centre + p.circle.radius * d.normalized();
            if (p.inSweep(rim, 0.0)) return rim;
        }
    } else {
        const Vec2 d = p.to - p.from;
        const double t = d.squaredNorm() > 0 ? (at - p.from).dot(d) / d.squaredNorm() : 0.0;
        if (t > 0 && t < 1) return p.from + t * d;
    }
    return (at - p.from).squaredNorm() < (at - p.to).squaredNorm() ? p.from : p.to;
}

constexpr double kNone = 1e300;

/// The nearest points of two pieces among the places that are not left out; kNone wide where all are.
template <class LeftOut>
Web nearestOf(const Piece& a, const Piece& b, const LeftOut& leftOut) {
    Web best;
    best.width_mm = kNone;
    const auto look = [&](const Piece& from, double t, bool turned) {
        const Vec2 p = from.at(t), q = nearest(turned ? a : b, p);
        Web w;
        w.width_mm = (q - p).norm();
        w.from = turned ? q : p, w.to = turned ? p : q;
        if (leftOut(w)) return kNone;
        if (w.width_mm < best.width_mm) best = w;
        return w.width_mm;
    };
    for (const bool turned : {false, true}) {
        const Piece& from = turned ? b : a;
        double at = -1.0, least = kNone;
        const int n = from.isArc() ? 4 * kLooks : kLooks;
        for (int i = 0; i <= n; ++i)
            if (const double d = look(from, static_cast<double>(i) / n, turned); d < least)
                least = d, at = static_cast<double>(i) / n;
        if (at < 0.0) continue;
        // Closer in about the best of these: the distance has one valley there, cut off where it is left out.
        double low = std::max(0.0, at - 1.0 / n), high = std::min(1.0, at + 1.0 / n);
        for (int i = 0; i < 60; ++i) {
            const double x = low + (high - low) / 3, y = high - (high - low) / 3;
            const double dx = look(from, x, turned), dy = look(from, y, turned);
            if (dx == kNone && dy == kNone ? at < x : dx < dy)
                high = dx == kNone ? x : y;
            else
                low = dx == kNone && dy == kNone && at > y ? y : x;
        }
    }
    return best;
}

struct Line {
    std::string name;
    OutlinePurpose purpose = OutlinePurpose::Outline;
    survey::Id level;
    Chain chain;
    std::vector<Piece> pieces;
    std::vector<double> start;  ///< way along the chain to each piece's beginning
    double length = 0.0;
};

Line lineOf(const std::string& name, OutlinePurpose purpose, const survey::Id& level, const Chain& chain) {
    Line l{name, purpose, level, chain, geometry::pieces(chain), {}, 0.0};
    for (const Piece& p : l.pieces) {
        l.start.push_back(l.length);
        l.length += p.length();
    }
    return l;
}

/// Inside an outline of the level and outside of its openings.
bool material(const std::vector<Line>& lines, const survey::Id& level, const Vec2& at) {
    bool inside = false, any = false;
    for (const Line& l : lines)
        if (l.level == level && l.purpose == OutlinePurpose::Outline) {
            any = true;
            inside = inside || contains(l.chain, at);
        }
    if (any && !inside) return false;
    return std::none_of(lines.begin(), lines.end(), [&](const Line& l) {
        return l.level == level && l.purpose == OutlinePurpose::Cutout && contains(l.chain, at);
    });
}

bool far(const Bounds& a, const Bounds& b, double width) {
    return (a.low.array() > b.high.array() + width).any() || (b.low.array() > a.high.array() + width).any();
}

class Search {
  public:
    Search(const std::vector<Line>& lines, double width) : lines_(lines), width_(width) {}

    /// The narrowest web and the narrowest gap of this pair.
    void pair(const Line& a, const Line& b, std::vector<Web>& out) const {
        std::map<bool, Web> best;
        const bool same = &a == &b;
        for (std::size_t i = 0; i < a.pieces.size(); ++i)
            for (std::size_t k = same ? i + 1 : 0; k < b.pieces.size(); ++k) {
                if (far(a.pieces[i].bounds(), b.pieces[k].bounds(), width_)) continue;
                if (same && neighbours(a.pieces.size(), i, k)) continue;
                Web w = same ? nearestOf(a.pieces[i], b.pieces[k],
                                         [&](const Web& at) { return corner(a, i, k, at); })
                             : between(a.pieces[i], b.pieces[k]);
                if (w.width_mm >= width_) continue;
                w.material = material(lines_, a.level, 0.5 * (w.from + w.to));
                w.a = a.name, w.b = b.name;
                const auto it = best.find(w.material);
                if (it == best.end() || w.width_mm < it->second.width_mm) best[w.material] = w;
            }
        for (const auto& [kind, w] : best) out.push_back(w);
    }

  private:
    static double along(const Line& l, std::size_t piece, const Vec2& at) {
        const Piece& p = l.pieces[piece];
        if (!p.isArc()) return l.start[piece] + (at - p.from).norm();
        const Vec2 d = at - p.circle.centre;
        double turn = std::remainder(std::atan2(d.y(), d.x()) - p.startAngle, 2 * std::numbers::pi);
        if (turn * p.sweep < -1e-9) turn += p.sweep > 0 ? 2 * std::numbers::pi : -2 * std::numbers::pi;
        return l.start[piece] + std::abs(turn) * p.circle.radius;
    }
    static bool neighbours(std::size_t n, std::size_t i, std::size_t k) {
        return k == i + 1 || i + n == k + 1;
    }
    static bool corner(const Line& l, std::size_t i, std::size_t k, const Web& w) {
        const double way = std::abs(along(l, i, w.from) - along(l, k, w.to));
        return std::min(way, l.length - way) <= kCorner * w.width_mm + 1e-6;
    }

    const std::vector<Line>& lines_;
    double width_;
};

}  // namespace

Web between(const Piece& a, const Piece& b) {
    return nearestOf(a, b, [](const Web&) { return false; });
}

std::vector<Web> websBelow(const drawing::Drawing& d, double width_mm) {
    std::vector<Web> out;
    if (!(width_mm > 0.0)) return out;
    std::vector<Line> lines;
    for (const auto& c : d.chains)
        if (c.purpose != OutlinePurpose::KeepOut)
            lines.push_back(lineOf(std::string(survey::purposeName(c.purpose)) + " " + c.name, c.purpose,
                                   c.level, c.chain));
    for (const auto& h : d.holes)
        if (h.cut)
            lines.push_back(
                lineOf("hole " + h.name, OutlinePurpose::Cutout, h.level, geometry::circleChain(h.circle)));
    const Search search(lines, width_mm);
    for (std::size_t i = 0; i < lines.size(); ++i)
        for (std::size_t k = i; k < lines.size(); ++k)
            if (lines[i].level == lines[k].level) search.pair(lines[i], lines[k], out);
    std::stable_sort(out.begin(), out.end(),
                     [](const Web& a, const Web& b) { return a.width_mm < b.width_mm; });
    return out;
}

}  // namespace trammel::rules
