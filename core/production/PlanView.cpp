// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>

#include "core/geometry/Piece.h"
#include "core/production/Views.h"

namespace trammel::production {
namespace {

using drawing::Prism;
using geometry::Piece;
using survey::OutlinePurpose;

constexpr double kBeside_mm = 0.01;  // how far off an edge its two sides are looked at
constexpr double kStep_mm = 1.0;     // between two looks along an edge
constexpr double kEnd_mm = 0.005;    // to which the end of a run is found
constexpr double kSagitta_mm = 0.002;

bool material(const Prism& p, const Vec2& at) {
    if (!contains(p.outer, at)) return false;
    for (const auto& c : p.openings)
        if (contains(c, at)) return false;
    for (const auto& h : p.holes)
        if ((at - h.circle.centre).norm() < h.circle.radius) return false;
    return true;
}

Vec2 normalAt(const Piece& p, double t) {
    if (p.isArc()) return (p.at(t) - p.circle.centre).normalized();
    const Vec2 d = (p.to - p.from).normalized();
    return Vec2(d.y(), -d.x());
}

class Plan {
  public:
    Plan(const Shape& shape, View view) : shape_(shape), up_(view == View::Bottom ? -1.0 : 1.0) {}

    std::vector<ViewLine> run() {
        for (const Prism& p : shape_.envelope.prisms) {
            if (p.purpose == OutlinePurpose::KeepOut) {
                for (const Piece& piece : pieces(p.outer)) add(LineKind::Adjacent, piece, 0.0, 1.0);
                continue;
            }
            edges(p, p.outer);
            for (const auto& c : p.openings) edges(p, c);
            for (const auto& h : p.holes) edges(p, geometry::circleChain(h.circle));
            for (const auto& h : p.holes) cross(h.circle);
        }
        for (const Loose& l : shape_.loose) {
            ViewLine line{LineKind::Measured, {}};
            for (const Vec3& q : l.course) line.points.push_back(seen(q.head<2>()));
            lines_.push_back(std::move(line));
        }
        return std::move(lines_);
    }

  private:
    Vec2 seen(const Vec2& part) const { return {part.x(), up_ * part.y()}; }

    bool covered(const Prism& own, const Vec2& at) const {
        for (const Prism& q : shape_.envelope.prisms) {
            if (&q == &own || q.purpose == OutlinePurpose::KeepOut) continue;
            const bool nearer = up_ > 0 ? q.high > own.high + 1e-6 : q.low < own.low - 1e-6;
            if (nearer && material(q, at)) return true;
        }
        return false;
    }

    bool hidden(const Prism& own, const Piece& piece, double t) const {
        const Vec2 at = piece.at(t), off = kBeside_mm * normalAt(piece, t);
        return covered(own, at + off) && covered(own, at - off);
    }

    /// Runs of one visibility along every piece; the place where it changes is found by halving.
    void edges(const Prism& own, const geometry::Chain& chain) {
        for (const Piece& p : pieces(chain)) {
            const double length = p.length();
            const int n = 1 + static_cast<int>(std::min(length / kStep_mm, 2000.0));
            double from = 0.0, last = 0.5 / n;
            bool state = hidden(own, p, last);
            for (int i = 1; i < n; ++i) {
                const double t = (i + 0.5) / n;
                const bool now = hidden(own, p, t);
                if (now != state) {
                    double a = last, b = t;
                    while ((b - a) * length > kEnd_mm) {
                        const double m = 0.5 * (a + b);
                        (hidden(own, p, m) == state ? a : b) = m;
                    }
                    add(state ? LineKind::Hidden : LineKind::Visible, p, from, b);
                    from = b, state = now;
                }
                last = t;
            }
            add(state ? LineKind::Hidden : LineKind::Visible, p, from, 1.0);
        }
    }

    /// Runs that go on from the last line are joined to it, so that dashes run through.
    void add(LineKind kind, const Piece& p, double from, double to) {
        const Vec2 start = seen(p.at(from));
        const bool on = !lines_.empty() && lines_.back().kind == kind &&
                        (lines_.back().points.back() - start).norm() < 1e-9;
        if (!on) lines_.push_back({kind, {start}});
        int n = 1;
        if (p.isArc())
            n += static_cast<int>(std::min(
                std::abs(p.sweep) * (to - from) * std::sqrt(p.circle.radius / (8 * kSagitta_mm)), 4000.0));
        for (int i = 1; i <= n; ++i) lines_.back().points.push_back(seen(p.at(from + (to - from) * i / n)));
    }

    void cross(const geometry::Circle& c) {
        const double reach = c.radius + std::max(1.0, 0.25 * c.radius);
        for (const Vec2& arm : {Vec2(reach, 0), Vec2(0, reach)})
            lines_.push_back({LineKind::Centre, {seen(c.centre - arm), seen(c.centre + arm)}});
    }

    const Shape& shape_;
    double up_;
    std::vector<ViewLine> lines_;
};

}  // namespace

std::vector<ViewLine> planLines(const Shape& shape, View view) { return Plan(shape, view).run(); }

}  // namespace trammel::production
