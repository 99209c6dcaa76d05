// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <utility>

#include "core/geometry/Intersect.h"
#include "core/geometry/Piece.h"
#include "core/production/Views.h"
#include "core/unfold/Arrangement.h"

namespace trammel::production {
namespace {

using drawing::Prism;
using geometry::Chain;
using geometry::Piece;
using survey::OutlinePurpose;

constexpr double kBeside_mm = 1e-4;    // how far off a line its two sides are looked at
constexpr double kBefore_mm = 0.01;    // by how much something must stand nearer to hide
constexpr double kOneLine_mm = 0.005;  // lines nearer than this are one
constexpr double kTurn_rad = 0.035;    // 2°: where a wall turns by less, no edge is seen
constexpr double kTwoPi = 2 * std::numbers::pi;

using Span = std::pair<double, double>;

/// A prism turned so that u runs to the right of the view and v away from the viewer.
struct Turned {
    std::vector<Chain> walls;  ///< the outer one first
    std::vector<geometry::Circle> holes;
    double low, high;
    bool keepOut;
};

Chain turnedChain(const Chain& c, const Vec2& u, const Vec2& v) {
    Chain out = c;
    for (auto& vertex : out.vertices) vertex.point = Vec2(u.dot(vertex.point), v.dot(vertex.point));
    return out;
}

/// Where the line at u crosses the walls, by v.
std::vector<double> crossings(const std::vector<Chain>& walls, double u) {
    std::vector<double> out;
    for (const Chain& c : walls)
        for (const Piece& p : pieces(c)) {
            if (!p.isArc()) {
                const double a = p.from.x() - u, b = p.to.x() - u;
                if ((a < 0) != (b < 0)) out.push_back(p.from.y() + a / (a - b) * (p.to.y() - p.from.y()));
                continue;
            }
            const double du = u - p.circle.centre.x(), r = p.circle.radius;
            if (std::abs(du) >= r) continue;
            const double dv = std::sqrt(r * r - du * du);
            for (const double side : {-dv, dv}) {
                const Vec2 at(u, p.circle.centre.y() + side);
                if (p.inSweep(at, 0.0)) out.push_back(at.y());
            }
        }
    std::sort(out.begin(), out.end());
    return out;
}

/// Lines along one direction: by their place across it, the stretches that are visible and those hidden.
class Ruled {
  public:
    void add(double at, const Span& span, bool hidden) {
        auto it = spans_.lower_bound(at - kOneLine_mm);
        if (it == spans_.end() || it->first > at + kOneLine_mm) it = spans_.emplace(at, Pair{}).first;
        (hidden ? it->second.hidden : it->second.visible).push_back(span);
    }
    /// Calls f(at, span, hidden); where one line lies over another, the visible one counts.
    template <class F>
    void each(F&& f) const {
        for (const auto& [at, pair] : spans_) {
            const auto seen = merged(pair.visible);
            for (const Span& s : seen) f(at, s, false);
            for (Span s : merged(pair.hidden)) {
                for (const Span& over : seen) {
                    if (over.second <= s.first || over.first >= s.second) continue;
                    if (over.first > s.first) f(at, Span{s.first, over.first}, true);
                    s.first = std::max(s.first, over.second);
                }
                if (s.second - s.first > kOneLine_mm) f(at, s, true);
            }
        }
    }

  private:
    struct Pair {
        std::vector<Span> visible, hidden;
    };
    static std::vector<Span> merged(std::vector<Span> list) {
        std::sort(list.begin(), list.end());
        std::vector<Span> out;
        for (const Span& s : list)
            if (!out.empty() && s.first <= out.back().second + 1e-9)
                out.back().second = std::max(out.back().second, s.second);
            else
                out.push_back(s);
        return out;
    }
    std::map<double, Pair> spans_;
};

class Side {
  public:
    Side(const Shape& shape, View view) : shape_(shape), axes_(unfold::axesOf(view)) {
        const Vec2 u = axes_.right.head<2>(), v = -axes_.toViewer.head<2>();
        for (const Prism& p : shape.envelope.prisms) {
            Turned t{{turnedChain(p.outer, u, v)}, {}, p.low, p.high, p.purpose == OutlinePurpose::KeepOut};
            for (const Chain& c : p.openings) t.walls.push_back(turnedChain(c, u, v));
            for (const auto& h : p.holes) {
                t.holes.push_back({{u.dot(h.circle.centre), v.dot(h.circle.centre)}, h.circle.radius});
                t.walls.push_back(geometry::circleChain(t.holes.back()));
            }
            prisms_.push_back(std::move(t));
        }
        for (const Turned& t : prisms_) heights_.insert(heights_.end(), {t.low, t.high});
        std::sort(heights_.begin(), heights_.end());
    }

    std::vector<ViewLine> run() {
        for (const Turned& t : prisms_) {
            if (t.keepOut) {
                box(t);
                continue;
            }
            for (const Chain& c : t.walls) upright(t, c);
            level(t, t.low);
            if (t.high > t.low) level(t, t.high);
            for (const auto& h : t.holes) centres_.add(h.centre.x(), {t.low, t.high}, false);
        }
        const auto kind = [](bool hidden) { return hidden ? LineKind::Hidden : LineKind::Visible; };
        uprights_.each([&](double u, const Span& s, bool hidden) {
            lines_.push_back({kind(hidden), {Vec2(u, s.first), Vec2(u, s.second)}});
        });
        levels_.each([&](double z, const Span& s, bool hidden) {
            lines_.push_back({kind(hidden), {Vec2(s.first, z), Vec2(s.second, z)}});
        });
        centres_.each([&](double u, const Span& s, bool) {
            const double more = std::max(1.0, 0.25 * (s.second - s.first));
            lines_.push_back({LineKind::Centre, {Vec2(u, s.first - more), Vec2(u, s.second + more)}});
        });
        loose();
        return std::move(lines_);
    }

  private:
    bool before(const Turned& q, double u, double v) const {
        if (q.keepOut) return false;
        const auto at = crossings(q.walls, u);
        return !at.empty() && at.front() < v - kBefore_mm;
    }

    void box(const Turned& t) {
        const auto b = bounds(t.walls.front());
        lines_.push_back({LineKind::Adjacent,
                          {Vec2(b.low.x(), t.low), Vec2(b.high.x(), t.low), Vec2(b.high.x(), t.high),
                           Vec2(b.low.x(), t.high), Vec2(b.low.x(), t.low)}});
    }

    /// The wall's edges that run up: where it turns sharply, and where it turns away from the viewer.
    void upright(const Turned& own, const Chain& chain) {
        const auto list = pieces(chain);
        const auto heading = [](const Piece& p, bool end) {
            if (!p.isArc()) return std::atan2((p.to - p.from).y(), (p.to - p.from).x());
            const double a = p.startAngle + (end ? p.sweep : 0.0);
            return a + (p.sweep > 0 ? 0.25 : -0.25) * kTwoPi;
        };
        for (std::size_t i = 0; i < list.size(); ++i) {
            const Piece &p = list[i], &next = list[(i + 1) % list.size()];
            const double turn = std::remainder(heading(next, false) - heading(p, true), kTwoPi);
            if (std::abs(turn) > kTurn_rad) edge(own, p.to);
            if (!p.isArc()) continue;
            for (const double side : {-1.0, 1.0}) {
                const Vec2 at = p.circle.centre + Vec2(side * p.circle.radius, 0);
                if (p.inSweep(at, kOneLine_mm)) edge(own, at);
            }
        }
    }

    void edge(const Turned& own, const Vec2& at) {
        if (!(own.high > own.low)) return;
        std::vector<const Turned*> left, right;
        for (const Turned& q : prisms_) {
            if (before(q, at.x() - kBeside_mm, at.y())) left.push_back(&q);
            if (before(q, at.x() + kBeside_mm, at.y())) right.push_back(&q);
        }
        const auto hides = [](const std::vector<const Turned*>& list, double z) {
            return std::any_of(list.begin(), list.end(),
                               [&](const Turned* q) { return q->low < z && z < q->high; });
        };
        double from = own.low;
        for (const double z : heights_) {
            if (z <= from || z > own.high) continue;
            const double middle = 0.5 * (from + z);
            uprights_.add(at.x(), {from, z}, hides(left, middle) && hides(right, middle));
            from = z;
        }
    }

    /// The wall's edge at a height, from end to end as the view sees it.
    void level(const Turned& own, double z) {
        std::vector<double> stops;
        const auto own_ = bounds(own.walls.front());
        for (const Turned& t : prisms_)
            for (const Chain& c : t.walls)
                for (const Piece& p : pieces(c)) {
                    stops.push_back(p.from.x());
                    if (!p.isArc()) continue;
                    stops.insert(stops.end(), {p.circle.centre.x() - p.circle.radius,
                                               p.circle.centre.x() + p.circle.radius});
                }
        stops.insert(stops.end(), {own_.low.x(), own_.high.x()});
        std::sort(stops.begin(), stops.end());
        for (std::size_t i = 0; i + 1 < stops.size(); ++i) {
            const double from = std::max(stops[i], own_.low.x()), to = std::min(stops[i + 1], own_.high.x());
            if (to - from < kOneLine_mm) continue;
            const double u = 0.5 * (from + to);
            const auto at = crossings(own.walls, u);
            if (at.empty()) continue;
            bool below = false, above = false;
            for (const Turned& q : prisms_) {
                if (!before(q, u, at.front())) continue;
                below = below || (q.low < z - kBeside_mm && z - kBeside_mm < q.high);
                above = above || (q.low < z + kBeside_mm && z + kBeside_mm < q.high);
            }
            levels_.add(z, {from, to}, below && above);
        }
    }

    /// A level without an outline: from end to end of what was marked on it.
    void loose() {
        std::map<survey::Id, std::pair<Vec2, Vec2>> ends;
        for (const Loose& l : shape_.loose)
            for (const Vec3& q : l.course) {
                const Vec2 at(axes_.right.dot(q), axes_.up.dot(q));
                const auto [it, fresh] = ends.try_emplace(l.level, at, at);
                if (fresh) continue;
                if (at.x() < it->second.first.x()) it->second.first = at;
                if (at.x() > it->second.second.x()) it->second.second = at;
            }
        for (const auto& [level, pair] : ends)
            lines_.push_back({LineKind::Measured, {pair.first, pair.second}});
    }

    const Shape& shape_;
    unfold::Axes axes_;
    std::vector<Turned> prisms_;
    std::vector<double> heights_;
    Ruled uprights_, levels_, centres_;
    std::vector<ViewLine> lines_;
};

}  // namespace

std::vector<ViewLine> sideLines(const Shape& shape, View view) { return Side(shape, view).run(); }

}  // namespace trammel::production
