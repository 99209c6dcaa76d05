// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Dimensions.h"

#include <cmath>
#include <numbers>

#include "core/drawing/Format.h"
#include "core/geometry/Intersect.h"

namespace trammel::drawing {
namespace {

using adjust::FeatureGeometry;
using geometry::Line;
using survey::FeatureKind;
using survey::Quantity;

/// A plan figure that differs from the adjusted value by more than this is not shown as if it were it.
constexpr double kSame_mm = 5e-4;

Vec2 plan(const FeatureGeometry& g) { return g.point.head<2>(); }
Line lineOf(const FeatureGeometry& g) { return {plan(g), g.direction}; }

Figure between(const Vec2& first, const Vec2& second, const Vec2& along) {
    Figure f;
    f.first = first;
    f.second = second;
    f.angle = std::atan2(along.y(), along.x());
    return f;
}

/// From middle to middle, measured along the mean normal of two edges: the adjustment defines their distance
/// as the mean of either middle's distance from the other edge. For edges that are not quite parallel the
/// mean normal gives that mean only to second order; the direction is turned by so little that it is met
/// exactly.
Figure betweenEdges(const FeatureGeometry& a, const FeatureGeometry& b, double value) {
    const Vec2 u = a.direction.normalized(), d = plan(b) - plan(a);
    Vec2 v = b.direction.normalized();
    if (u.dot(v) < 0) v = -v;
    Vec2 normal(-(u + v).y(), (u + v).x());
    if (normal.dot(d) < 0) normal = -normal;
    const double length = d.norm(), wanted = std::abs(value);
    if (std::abs(normal.normalized().dot(d) - wanted) < 1e-9) return between(plan(a), plan(b), normal);
    const double off = std::acos(std::min(1.0, length > 0 ? wanted / length : 1.0));
    const double heading = std::atan2(d.y(), d.x()), mean = std::atan2(normal.y(), normal.x());
    const double side = std::remainder(mean - heading, 2 * std::numbers::pi) < 0 ? -1.0 : 1.0;
    const double angle = heading + side * off;
    // Turned by more than this the edges are no pair to measure between; the caller then finds no match.
    const bool near = std::abs(std::remainder(angle - mean, 2 * std::numbers::pi)) < 0.03;
    const double drawn = near ? angle : mean;
    return between(plan(a), plan(b), Vec2(std::cos(drawn), std::sin(drawn)));
}

Figure distanceFigure(const FeatureGeometry& a, const FeatureGeometry& b, double value) {
    const bool ea = a.kind == FeatureKind::Edge, eb = b.kind == FeatureKind::Edge;
    if (ea && eb) return betweenEdges(a, b, value);
    const Vec2 p = ea ? foot(lineOf(a), plan(b)) : plan(a), q = eb ? foot(lineOf(b), plan(a)) : plan(b);
    return between(p, q, q - p);
}

/// Opposite rim points, or centre and rim, in the direction of the marked part's middle (45° for a full
/// hole).
Figure roundFigure(const FeatureGeometry& g, bool diameter) {
    const Vec2 centre = plan(g), a = g.spanFrom - centre, b = g.spanTo - centre;
    double angle = std::numbers::pi / 4;
    if (g.kind == FeatureKind::Arc && g.spanFrom != g.spanTo) {
        double sweep = std::atan2(a.x() * b.y() - a.y() * b.x(), a.dot(b));
        if (sweep < 0) sweep += 2 * std::numbers::pi;
        angle = std::atan2(a.y(), a.x()) + 0.5 * sweep;
    }
    const Vec2 u(std::cos(angle), std::sin(angle));
    Figure f;
    f.kind = diameter ? FigureKind::Diameter : FigureKind::Radius;
    f.angle = angle;
    f.first = diameter ? Vec2(centre - g.radius * u) : centre;
    f.second = centre + g.radius * u;
    return f;
}

std::vector<const FeatureGeometry*> geometries(const survey::Dimension& d, const Features& features) {
    std::vector<const FeatureGeometry*> list;
    for (const survey::Id& id : d.objects)
        if (const auto it = features.find(id); it != features.end()) list.push_back(&it->second);
    return list;
}

/// The figure of a dimension that shows in plan.
bool figureOf(const survey::Dimension& d, double value, const Features& features, Figure& f) {
    const auto g = geometries(d, features);
    const bool round = d.quantity == Quantity::Diameter || d.quantity == Quantity::Radius;
    if (round && g.size() == 1)
        f = roundFigure(*g[0], d.quantity == Quantity::Diameter);
    else if (d.quantity == Quantity::Distance && g.size() == 2)
        f = distanceFigure(*g[0], *g[1], value);
    else if (d.quantity == Quantity::OffsetX && g.size() == 2)
        f = between(plan(*g[0]), plan(*g[1]), Vec2::UnitX());
    else if (d.quantity == Quantity::OffsetY && g.size() == 2)
        f = between(plan(*g[0]), plan(*g[1]), Vec2::UnitY());
    else
        return false;
    const bool finite = f.first.allFinite() && f.second.allFinite() && std::isfinite(value);
    return finite && f.measured() > 1e-6 && std::abs(f.measured() - std::abs(value)) <= kSame_mm;
}

DimensionRow rowOf(const survey::Survey& survey, const adjust::DimensionResult& r) {
    const bool angle = r.dimension.quantity == Quantity::Angle;
    const double scale = angle ? 180.0 / std::numbers::pi : 1.0;
    DimensionRow row;
    row.id = r.dimension.id;
    row.name = r.dimension.name.empty() ? r.dimension.id : r.dimension.name;
    row.quantity = r.dimension.quantity;
    for (const survey::Id& id : r.dimension.objects)
        row.objects += (row.objects.empty() ? "" : ", ") + describe(survey, id);
    row.value = r.value * scale;
    row.plusMinus = std::isfinite(r.plusMinus) && r.plusMinus > 0 ? r.plusMinus * scale : 0.0;
    row.unit = angle ? "deg" : "mm";
    row.text = withPlusMinus(row.value, row.plusMinus);
    return row;
}

}  // namespace

void addDimensions(const survey::Survey& survey, const adjust::Solution& solution, const Features& features,
                   Drawing& drawing) {
    for (const adjust::DimensionResult& r : solution.dimensions) {
        DimensionRow row = rowOf(survey, r);
        Figure f;
        if (figureOf(r.dimension, r.value, features, f)) {
            row.drawn = true;
            f.dimension = row.id;
            f.name = row.name;
            // On the sheet a length has no sign: its direction is seen.
            f.text = withPlusMinus(std::abs(row.value), row.plusMinus);
            if (f.kind == FigureKind::Diameter) f.text = "⌀" + f.text;
            if (f.kind == FigureKind::Radius) f.text = "R" + f.text;
            drawing.figures.push_back(f);
        }
        drawing.rows.push_back(row);
    }
}

}  // namespace trammel::drawing
