// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/OutlineChain.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/drawing/Joints.h"
#include "core/geometry/Piece.h"

namespace trammel::drawing {
namespace {

using geometry::Circle;
using survey::Quantity;

double angleOf(const Vec2& v) { return std::atan2(v.y(), v.x()); }

/// A feature that closes by itself, besides a circle.
bool isRing(const Member& m) {
    return m.kind == survey::FeatureKind::Slot || (m.kind == survey::FeatureKind::Curve && m.geometry.closed);
}

/// A slot with true arcs; a closed curve as the close polyline that it is known by.
geometry::Chain ringOf(const Member& m) {
    geometry::Chain chain;
    const adjust::FeatureGeometry& g = m.geometry;
    if (m.kind == survey::FeatureKind::Slot) {
        const Vec2 u = (g.spanTo - g.spanFrom).normalized(), out = g.radius * Vec2(u.y(), -u.x());
        constexpr double kHalfTurn = 1.0;  // bulge of a half circle, anticlockwise
        chain.vertices = {{g.spanFrom + out, 0.0},
                          {g.spanTo + out, kHalfTurn},
                          {g.spanTo - out, 0.0},
                          {g.spanFrom - out, kHalfTurn}};
        return chain;
    }
    for (std::size_t i = 0; i + 1 < g.course.size(); ++i)
        chain.vertices.push_back({g.course[i].head<2>(), 0.0});
    return chain;
}

Result<std::vector<Member>> members(const survey::Survey& survey, const survey::Outline& outline,
                                    const Features& features) {
    std::vector<Member> list;
    std::size_t arcs = 0;
    const std::string name = describe(survey, outline.id);
    for (const survey::Id& id : outline.chain) {
        const auto found = features.find(id);
        if (found == features.end() || !find(survey.features, id))
            return Error{ErrorCode::NotFound, describe(survey, id) + " has no adjusted place", name,
                         "mark it in a photograph or take it out of the chain"};
        Member m{id, describe(survey, id), found->second.kind, found->second};
        const bool sound = m.geometry.point.allFinite() && m.geometry.direction.allFinite() &&
                           (!m.isArc() || (std::isfinite(m.geometry.radius) && m.geometry.radius > 0));
        if (!sound) return Error{ErrorCode::BadValue, "has no usable shape", m.name, "mark it again"};
        m.usedOnce = std::count(outline.chain.begin(), outline.chain.end(), id) == 1;
        if (m.isArc()) m.circle = arcs++;
        list.push_back(m);
    }
    for (const Member& m : list)
        if (list.size() > 1 && (m.kind == survey::FeatureKind::Slot || m.kind == survey::FeatureKind::Curve))
            return Error{ErrorCode::Refused, "cannot be joined to other features of an outline", m.name,
                         "let it be an outline or cutout of its own, or mark its pieces as edges and arcs"};
    if (list.size() == 1 && isRing(list[0])) return list;
    const bool circle = list.size() == 1 && list[0].isArc();
    const bool two = list.size() == 2 && !list[0].isCorner() && !list[1].isCorner() &&
                     (list[0].isArc() || list[1].isArc());
    if (list.size() < 3 && !circle && !two)
        return Error{ErrorCode::BadValue, "too few features to enclose an area", name,
                     "add the features that close it"};
    return list;
}

double bulgeOf(const Circle& c, const Vec2& from, const Vec2& to, int sense) {
    const double full = 2 * std::numbers::pi;
    double sweep = sense * (angleOf(to - c.centre) - angleOf(from - c.centre));
    sweep = std::fmod(sweep, full);
    if (sweep < 0) sweep += full;
    return sense * std::tan(sweep / 4);
}

/// The middle of an edge's marks must lie between its joints, or the chain runs backwards along it.
Result<void> checkEdge(const std::vector<Member>& list, std::size_t i, const Vec2& from, const Vec2& to) {
    const Member& m = list[i];
    const Vec2 run = to - from, marked = m.geometry.spanTo - m.geometry.spanFrom;
    const double length = run.norm();
    if (!m.usedOnce || marked.norm() == 0.0 || length == 0.0) return {};
    const double at = (0.5 * (m.geometry.spanFrom + m.geometry.spanTo) - from).dot(run) / length;
    const double slack = 0.25 * marked.norm();
    if (at > -slack && at < length + slack) return {};
    const std::size_t n = list.size();
    return Error{ErrorCode::BadValue,
                 "its joints with " + list[(i + n - 1) % n].name + " and " + list[(i + 1) % n].name +
                     " lie beside its marked part",
                 m.name, "check the order of the chain and the marks of these three"};
}

Result<void> checkArc(const std::vector<Member>& list, std::size_t i, const geometry::Piece& piece) {
    const Member& m = list[i];
    const std::size_t n = list.size();
    if ((piece.to - piece.from).norm() < 1e-9)
        return Error{
            ErrorCode::BadValue,
            "meets " + list[(i + n - 1) % n].name + " and " + list[(i + 1) % n].name + " at one point",
            m.name, "check the order of the chain and the marks of these three"};
    if (m.kind == survey::FeatureKind::Hole || m.geometry.spanFrom == m.geometry.spanTo) return {};
    const Vec2 centre = m.geometry.point.head<2>();
    const double slack = piece.circle.radius * 0.35;  // 20° along the rim
    const bool from = piece.inSweep(piece.circle.centre + m.geometry.spanFrom - centre, slack);
    const bool to = piece.inSweep(piece.circle.centre + m.geometry.spanTo - centre, slack);
    if (from || to) return {};
    return Error{ErrorCode::BadValue,
                 "would run on the other side than it was marked, between " + list[(i + n - 1) % n].name +
                     " and " + list[(i + 1) % n].name,
                 m.name, "check the order of the chain and the marks of these three"};
}

Result<geometry::Chain> walk(const std::vector<Member>& list, const Links& links,
                             const std::vector<int>& sense) {
    geometry::Chain chain;
    const std::size_t n = list.size();
    for (std::size_t i = 0; i < n; ++i) {
        const Member& m = list[i];
        const Link &before = links.links[(i + n - 1) % n], &after = links.links[i];
        if (m.isCorner()) {
            if (after.kind == LinkKind::Straight) chain.vertices.push_back({m.geometry.point.head<2>(), 0.0});
            continue;
        }
        geometry::Vertex v{before.joint, 0.0};
        if (m.isEdge()) {
            if (const auto ok = checkEdge(list, i, before.joint, after.joint); !ok) return ok.error();
        } else {
            v.bulge = bulgeOf(links.circles[m.circle], before.joint, after.joint, sense[i]);
            const geometry::Piece piece(before.joint, after.joint, v.bulge);
            if (const auto ok = checkArc(list, i, piece); !ok) return ok.error();
        }
        chain.vertices.push_back(v);
    }
    return chain;
}

/// ± of an arc's centre, from its offsets against the datum's origin.
std::optional<double> centrePlusMinus(const survey::Survey& survey, const survey::Id& arc,
                                      const ChainOptions& o) {
    if (!o.plusMinus || survey.datum.origin.empty() || survey.datum.origin == arc) return std::nullopt;
    const auto x = o.plusMinus({"", "", Quantity::OffsetX, {survey.datum.origin, arc}, false});
    const auto y = o.plusMinus({"", "", Quantity::OffsetY, {survey.datum.origin, arc}, false});
    if (!x || !y) return std::nullopt;
    return std::hypot(*x, *y);
}

Result<void> describeMoves(const survey::Survey& survey, const std::vector<Member>& list, const Links& links,
                           const ChainOptions& options, std::vector<std::string>& remarks) {
    const std::size_t n = list.size();
    for (std::size_t i = 0; i < n; ++i) {
        const Member& m = list[i];
        if (!m.isArc()) continue;
        const Circle& now = links.circles[m.circle];
        const double moved = (now.centre - m.geometry.point.head<2>()).norm();
        const double grown = now.radius - m.geometry.radius;
        const auto pm = centrePlusMinus(survey, m.id, options);
        if (moved > std::max({1.0, 0.5 * m.geometry.radius, 2 * pm.value_or(0.0)}))
            return Error{ErrorCode::Refused,
                         fmt::format("its centre would have to move by {:.2f} mm to join ", moved) +
                             list[(i + n - 1) % n].name + " and " + list[(i + 1) % n].name,
                         m.name, "mark more of the arc, or mark the neighbours again"};
        if (moved < 5e-4 && std::abs(grown) < 5e-4) continue;
        std::string s = fmt::format("{}: centre moved by {:.3f} mm to join {} and {} exactly", m.name, moved,
                                    list[(i + n - 1) % n].name, list[(i + 1) % n].name);
        s += pm ? fmt::format(" ({} its ±{:.3f})", moved <= *pm ? "within" : "MORE than", *pm)
                : std::string(" (its ± is not known)");
        if (std::abs(grown) >= 5e-4) s += fmt::format("; radius changed by {:+.3f} mm", grown);
        remarks.push_back(s);
    }
    return {};
}

}  // namespace

Result<BuiltChain> buildChain(const survey::Survey& survey, const survey::Outline& outline,
                              const Features& features, const ChainOptions& options) {
    const auto list = members(survey, outline, features);
    if (!list) return list.error();
    if (list->size() == 1 && isRing(list->front())) return BuiltChain{ringOf(list->front()), {}};
    if (list->size() == 1) return BuiltChain{geometry::circleChain(list->front().circleOf()), {}};
    auto links = classify(*list, options);
    if (!links) return links.error();
    if (!seat(links->circles, links->contacts))
        return Error{ErrorCode::Refused, "its arcs cannot touch all of their neighbours at once",
                     describe(survey, outline.id), "mark the arcs and their neighbours again"};
    BuiltChain built;
    if (const auto ok = describeMoves(survey, *list, *links, options, built.remarks); !ok) return ok.error();
    if (const auto ok = placeJoints(*list, *links); !ok) return ok.error();
    const auto sense = senses(*list, *links);
    if (!sense) return sense.error();
    auto chain = walk(*list, *links, *sense);
    if (!chain) return chain.error();
    built.chain = *chain;
    return built;
}

}  // namespace trammel::drawing
