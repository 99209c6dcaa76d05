// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/production/Placing.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <set>

#include "core/drawing/Layout.h"
#include "core/survey/Names.h"

namespace trammel::production {
namespace {

using drawing::Figure;
using drawing::FigureKind;
using geometry::Bounds;
using survey::Quantity;

constexpr double kApart_mm = 8.0;  // between the figures of two views, on paper

/// y → −y: what the top view shows as the bottom view has it.
Vec2 over(const Vec2& p) { return {p.x(), -p.y()}; }
Figure over(Figure f) {
    f.first = over(f.first), f.second = over(f.second), f.angle = -f.angle;
    return f;
}

class Build {
  public:
    Build(const survey::Survey& survey, const adjust::Solution& solution, const drawing::Drawing& d,
          const std::vector<HoleRow>& holes)
        : survey_(survey), solution_(solution), drawing_(d), holes_(holes) {
        for (const HoleRow& h : holes) tabled_.insert(h.feature);
    }

    void plan(Seen& s) {
        const bool below = s.view == View::Bottom;
        for (const Figure& f : drawing_.figures) {
            if (inTable(f.dimension)) continue;
            s.figures.figures.push_back(below ? over(f) : f);
            shown_.insert(f.dimension);
        }
        for (const HoleRow& h : holes_) {
            Figure f;
            f.kind = FigureKind::Diameter;
            const Vec2 centre = below ? over(h.centre) : h.centre, r(0.5 * h.diameter, 0);
            f.first = centre - r, f.second = centre + r, f.text = h.letter;
            s.figures.figures.push_back(f);
        }
        for (drawing::DrawnChain c : drawing_.chains) {
            for (auto& v : c.chain.vertices)
                if (below) v = {over(v.point), -v.bulge};
            s.figures.chains.push_back(std::move(c));
        }
        for (drawing::DrawnHole h : drawing_.holes) {
            if (below) h.circle.centre = over(h.circle.centre);
            s.figures.holes.push_back(std::move(h));
        }
    }

    /// Heights, from the right end of the part to the right end of what is measured.
    void front(Seen& s, const Bounds& part) {
        for (const adjust::DimensionResult& r : solution_.dimensions) {
            const survey::Dimension& d = r.dimension;
            if (d.quantity != Quantity::Height && d.quantity != Quantity::Depth) continue;
            const auto row = std::find_if(drawing_.rows.begin(), drawing_.rows.end(),
                                          [&](const auto& x) { return x.id == d.id; });
            if (row == drawing_.rows.end() || d.objects.empty()) continue;
            Figure f;
            f.dimension = d.id, f.name = row->name;
            f.first = d.quantity == Quantity::Height ? Vec2(part.high.x(), 0.0) : place(d.objects[0], part);
            f.second = place(d.objects.back(), part);
            if (!f.first.allFinite() || !f.second.allFinite()) continue;
            f.angle = f.second.y() < f.first.y() ? -0.5 * std::numbers::pi : 0.5 * std::numbers::pi;
            if (std::abs(f.measured() - std::abs(r.value)) > 5e-4 || !(f.measured() > 1e-6)) continue;
            f.text = row->plusMinus > 0 && row->text.front() == '-' ? row->text.substr(1) : row->text;
            s.figures.figures.push_back(f);
            shown_.insert(d.id);
        }
    }

    std::vector<std::string> notShown() const {
        std::vector<std::string> out;
        for (const drawing::DimensionRow& r : drawing_.rows)
            if (!shown_.contains(r.id) && !inTable(r.id))
                out.push_back(fmt::format("{} ({} of {}): {} {}.", r.name, survey::quantityName(r.quantity),
                                          r.objects, r.text, r.unit));
        return out;
    }

  private:
    bool inTable(const survey::Id& dimension) const {
        const auto* d = survey::find(survey_.dimensions, dimension);
        if (!d || d->objects.empty()) return false;
        if (d->quantity == Quantity::Diameter) return tabled_.contains(d->objects[0]);
        return (d->quantity == Quantity::OffsetX || d->quantity == Quantity::OffsetY) &&
               d->objects[0] == survey_.datum.origin && tabled_.contains(d->objects.back());
    }

    /// Where an object of a height stands in the front view.
    Vec2 place(const survey::Id& object, const Bounds& part) const {
        const auto f = solution_.features.find(object);
        if (f != solution_.features.end()) return {f->second.point.x(), f->second.point.z()};
        const auto l = solution_.levels.find(object);
        if (l == solution_.levels.end()) return Vec2::Constant(std::numeric_limits<double>::quiet_NaN());
        // The level's outermost feature on the right.
        double x = -std::numeric_limits<double>::infinity();
        for (const survey::Feature& feature : survey_.features)
            if (const auto g = solution_.features.find(feature.id);
                feature.level == object && g != solution_.features.end())
                x = std::max({x, g->second.point.x() + g->second.radius, g->second.spanFrom.x(),
                              g->second.spanTo.x()});
        return {std::isfinite(x) ? x : part.high.x(), l->second};
    }

    const survey::Survey& survey_;
    const adjust::Solution& solution_;
    const drawing::Drawing& drawing_;
    const std::vector<HoleRow>& holes_;
    std::set<survey::Id> tabled_, shown_;
};

Bounds boundsOf(const std::vector<ViewLine>& lines) {
    std::optional<Bounds> box;
    for (const ViewLine& l : lines)
        for (const Vec2& p : l.points) box = box ? united(*box, {p, p}) : Bounds{p, p};
    return box.value_or(Bounds{});
}

unfold::Box boxOf(const Shape& shape) {
    std::optional<unfold::Box> box;
    const auto add = [&](const Vec3& p) {
        if (!box) box = unfold::Box{p, p};
        box->low = box->low.cwiseMin(p), box->high = box->high.cwiseMax(p);
    };
    for (const drawing::Prism& p : shape.envelope.prisms) {
        const Bounds b = bounds(p.outer);
        add({b.low.x(), b.low.y(), p.low});
        add({b.high.x(), b.high.y(), p.high});
    }
    for (const Loose& l : shape.loose)
        for (const Vec3& p : l.course) add(p);
    return box.value_or(unfold::Box{});
}

/// The ground of a value on paper.
struct Ground {
    Vec2 middle, along, half;
    std::array<Vec2, 4> corners() const {
        const Vec2 a = half.x() * along, b = half.y() * Vec2(-along.y(), along.x());
        return {Vec2(middle + a + b), Vec2(middle + a - b), Vec2(middle - a - b), Vec2(middle - a + b)};
    }
};

/// Rectangles are apart where a side of one of them parts them.
bool parted(const Ground& a, const Ground& b) {
    for (const Vec2& u : {a.along, b.along})
        for (const Vec2& axis : {u, Vec2(-u.y(), u.x())}) {
            double lowA = 1e300, highA = -1e300, lowB = 1e300, highB = -1e300;
            for (const Vec2& p : a.corners())
                lowA = std::min(lowA, axis.dot(p)), highA = std::max(highA, axis.dot(p));
            for (const Vec2& p : b.corners())
                lowB = std::min(lowB, axis.dot(p)), highB = std::max(highB, axis.dot(p));
            if (highA <= lowB || highB <= lowA) return true;
        }
    return false;
}

}  // namespace

bool legible(const PlacedViews& views, double scale, double text_mm) {
    std::vector<Ground> taken;
    for (const PlacedView& v : views.views)
        for (const drawing::Figure& f : v.figures) {
            const double width = sheet::widthOf({Vec2::Zero(), f.text, text_mm});
            const Ground g{v.origin + scale * f.textMiddle,
                           {std::cos(f.textAngle), std::sin(f.textAngle)},
                           {0.5 * width, 0.5 * text_mm}};
            for (const Ground& t : taken)
                if (!parted(t, g)) return false;
            taken.push_back(g);
        }
    return true;
}

Views viewsOf(const survey::Survey& survey, const adjust::Solution& solution, const drawing::Drawing& drawing,
              const Shape& shape, const std::vector<HoleRow>& holes, const std::vector<View>& views) {
    Views out;
    out.box = boxOf(shape);
    Build build(survey, solution, drawing, holes);
    const auto wanted = [&](View v) { return std::find(views.begin(), views.end(), v) != views.end(); };
    for (const View v : unfold::kPlaced) {
        if (v != View::Front && !wanted(v)) continue;
        Seen s{v, linesOf(shape, v), {}};
        s.figures.part = boundsOf(s.lines);
        if (v == View::Top || (v == View::Bottom && !wanted(View::Top))) build.plan(s);
        if (v == View::Front) build.front(s, s.figures.part);
        out.seen.push_back(std::move(s));
    }
    out.notShown = build.notShown();
    return out;
}

PlacedViews placedAt(const Views& views, unfold::Method method, double scale, double text_mm) {
    PlacedViews out;
    unfold::Arrangement::Terms terms;
    terms.method = method, terms.box = views.box;
    for (const Seen& s : views.seen) {
        terms.views.push_back(s.view);
        drawing::Drawing d = s.figures;
        d.textHeight = text_mm / scale;
        const Bounds room = united(s.figures.part, drawing::placeFigures(d));
        out.views.push_back({&s, std::move(d.figures), Vec2::Zero(), room});
    }
    // With the frames side by side, the most by which the figures of neighbours would overlap.
    const unfold::Arrangement touching(terms);
    double gap = 0.0;
    for (const PlacedView& a : out.views)
        for (const PlacedView& b : out.views) {
            if (&a == &b) continue;
            const auto &fa = touching.frame(a.seen->view), &fb = touching.frame(b.seen->view);
            const Vec2 oa = touching.ownToSheet(a.seen->view, Vec3::Zero()),
                       ob = touching.ownToSheet(b.seen->view, Vec3::Zero());
            for (int k = 0; k < 2; ++k)
                if (std::abs(fa.high[k] - fb.low[k]) < 1e-9 && std::abs(fa.low[1 - k] - fb.low[1 - k]) < 1e-9)
                    gap = std::max(gap, oa[k] + a.room.high[k] - (ob[k] + b.room.low[k]));
        }
    terms.gap = gap + kApart_mm / scale;
    const unfold::Arrangement apart(terms);
    std::optional<Bounds> all;
    for (PlacedView& v : out.views) {
        v.origin = apart.ownToSheet(v.seen->view, Vec3::Zero());
        v.room = {v.room.low + v.origin, v.room.high + v.origin};
        all = all ? united(*all, v.room) : v.room;
    }
    for (PlacedView& v : out.views) {
        v.origin = scale * (v.origin - all->low);
        v.room = {scale * (v.room.low - all->low), scale * (v.room.high - all->low)};
    }
    out.size = scale * (all->high - all->low);
    return out;
}

}  // namespace trammel::production
