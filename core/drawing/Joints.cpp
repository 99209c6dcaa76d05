// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/drawing/Joints.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace trammel::drawing {
namespace {

using survey::Quantity;

double cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }
double angleOf(const Vec2& v) { return std::atan2(v.y(), v.x()); }

double turn(double angle) {
    const double full = 2 * std::numbers::pi;
    const double t = std::fmod(angle, full);
    return t < 0 ? t + full : t;
}

std::vector<Vec2> markedEnds(const Member& m) {
    if (m.kind == survey::FeatureKind::Hole || m.geometry.spanFrom == m.geometry.spanTo) return {};
    return {m.geometry.spanFrom, m.geometry.spanTo};
}

double smallestRadius(const Member& a, const Member& b) {
    double smallest = std::numeric_limits<double>::infinity();
    for (const Member* m : {&a, &b})
        if (m->isArc()) smallest = std::min(smallest, m->geometry.radius);
    return smallest;
}

/// Tolerance of the tangency miss of two neighbours. The ± of distance and radii are added, not squared: they
/// are correlated and the sum is safe. Never so wide that a real corner would pass for tangent.
double tangencyTolerance(const Member& a, const Member& b, const ChainOptions& options) {
    double sum = options.tangency_mm;
    if (options.plusMinus) {
        const auto distance = options.plusMinus({"", "", Quantity::Distance, {a.id, b.id}, false});
        double radii = 0.0;
        bool known = distance.has_value();
        for (const Member* m : {&a, &b}) {
            if (!m->isArc()) continue;
            const auto r = options.plusMinus({"", "", Quantity::Radius, {m->id}, false});
            known = known && r.has_value();
            radii += r.value_or(0.0);
        }
        if (known) sum = std::max(0.02, *distance + radii);
    }
    return std::min(sum, (options.plusMinus ? 0.3 : 0.1) * smallestRadius(a, b));
}

Result<Link> tangentOrCross(const Member& a, const Member& b, const std::vector<Contact>& possible,
                            Links& links, const ChainOptions& options) {
    const double tolerance = tangencyTolerance(a, b, options);
    const Contact* best = nullptr;
    for (const Contact& c : possible)
        if (!best || std::abs(miss(links.circles, c)) < std::abs(miss(links.circles, *best))) best = &c;
    const double off = miss(links.circles, *best);
    const bool meet = best->kind == Contact::Kind::Line
                          ? off < 0
                          : !intersect(links.circles[best->arc], links.circles[best->other]).empty();
    const bool stopsShort = !meet && std::abs(off) <= std::min(options.reach_mm, 0.3 * smallestRadius(a, b));
    if (std::abs(off) <= tolerance || stopsShort) {
        links.contacts.push_back(*best);
        return Link{LinkKind::Tangent, best->kind, Vec2::Zero()};
    }
    if (!meet)
        return pairError(a, b, fmt::format("do not meet: {:.2f} mm lie between them", std::abs(off)),
                         "mark both again or put the feature that lies between them into the chain");
    return Link{LinkKind::Cross, std::nullopt, Vec2::Zero()};
}

Result<Link> withCorner(const Member& carrier, const Member& corner, Links& links,
                        const ChainOptions& options) {
    const Vec2 p = corner.geometry.point.head<2>();
    const double off =
        carrier.isEdge() ? std::abs(signedDistance(carrier.line(), p))
                         : std::abs((p - carrier.geometry.point.head<2>()).norm() - carrier.geometry.radius);
    if (off > options.corner_mm)
        return pairError(carrier, corner, fmt::format("do not meet: the corner lies {:.2f} mm off", off),
                         "mark both again or take the corner out of the chain");
    if (carrier.isArc()) links.contacts.push_back({Contact::Kind::Point, carrier.circle, 0, {}, p});
    return Link{LinkKind::Corner, std::nullopt, p};
}

Result<Link> classifyPair(const Member& a, const Member& b, Links& links, const ChainOptions& options) {
    if (a.isCorner() && b.isCorner()) return Link{LinkKind::Straight, std::nullopt, Vec2::Zero()};
    if (b.isCorner()) return withCorner(a, b, links, options);
    if (a.isCorner()) return withCorner(b, a, links, options);
    if (a.isEdge() && b.isEdge()) return Link{LinkKind::Cross, std::nullopt, Vec2::Zero()};
    if (a.isEdge() || b.isEdge()) {
        const Member& edge = a.isEdge() ? a : b;
        const Member& arc = a.isEdge() ? b : a;
        return tangentOrCross(a, b, {{Contact::Kind::Line, arc.circle, 0, edge.line(), Vec2::Zero()}}, links,
                              options);
    }
    return tangentOrCross(a, b,
                          {{Contact::Kind::Outside, a.circle, b.circle, {}, Vec2::Zero()},
                           {Contact::Kind::Inside, a.circle, b.circle, {}, Vec2::Zero()}},
                          links, options);
}

double nearest(const std::vector<Vec2>& ends, const Vec2& p) {
    double best = std::numeric_limits<double>::infinity();
    for (const Vec2& e : ends) best = std::min(best, (e - p).norm());
    return ends.empty() ? 0.0 : best;
}

Result<Vec2> edgesMeet(const Member& a, const Member& b) {
    const double least = std::sin(std::numbers::pi / 180);
    if (const auto p = intersect(a.line(), b.line(), least)) return *p;
    return pairError(a, b, "are parallel within 1° and do not meet",
                     "put the corner, arc or edge that joins them between them in the chain");
}

/// Where the curves of two members cross; `which` picks the first or second when the chain has only two.
Result<Vec2> crossing(const Member& a, const Member& b, const Links& links, int which) {
    if (a.isEdge() && b.isEdge()) return edgesMeet(a, b);
    std::vector<Vec2> candidates;
    if (a.isArc() && b.isArc())
        candidates = intersect(links.circles[a.circle], links.circles[b.circle]);
    else
        candidates =
            intersect(a.isEdge() ? a.line() : b.line(), links.circles[a.isArc() ? a.circle : b.circle]);
    if (candidates.empty()) return pairError(a, b, "do not meet", "mark both again");
    if (which >= 0)
        return candidates[std::min<std::size_t>(static_cast<std::size_t>(which), candidates.size() - 1)];
    const auto ea = markedEnds(a), eb = markedEnds(b);
    return *std::min_element(candidates.begin(), candidates.end(), [&](const Vec2& p, const Vec2& q) {
        return nearest(ea, p) + nearest(eb, p) < nearest(ea, q) + nearest(eb, q);
    });
}

Vec2 tangentPoint(const Member& a, const Member& b, const Links& links, Contact::Kind kind) {
    if (kind == Contact::Kind::Line)
        return foot(a.isEdge() ? a.line() : b.line(), links.circles[a.isArc() ? a.circle : b.circle].centre);
    const geometry::Circle &p = links.circles[a.circle], &q = links.circles[b.circle];
    const geometry::Circle& large = p.radius >= q.radius ? p : q;
    const geometry::Circle& small = p.radius >= q.radius ? q : p;
    return large.centre + large.radius * (small.centre - large.centre).normalized();
}

/// The way round that continues the edge's travel through their tangent joint.
int senseFromEdge(const Vec2& travel, const Vec2& joint, const Vec2& centre) {
    return cross(travel, centre - joint) > 0 ? 1 : -1;
}

/// The way round whose middle lies closer to the middle of the marked part.
int senseFromMarks(const Member& m, const Vec2& centre, const Vec2& from, const Vec2& to) {
    if (markedEnds(m).empty())
        return turn(angleOf(to - centre) - angleOf(from - centre)) < std::numbers::pi ? 1 : -1;
    const double a = angleOf(m.geometry.spanFrom - m.geometry.point.head<2>());
    const double marked = a + 0.5 * turn(angleOf(m.geometry.spanTo - m.geometry.point.head<2>()) - a);
    const double start = angleOf(from - centre), sweep = turn(angleOf(to - centre) - start);
    const double fromMiddle = turn(marked - (start + 0.5 * sweep));
    return fromMiddle < std::numbers::pi / 2 || fromMiddle > 1.5 * std::numbers::pi ? 1 : -1;
}

/// Senses that tangent edges force; fails when the two neighbours of an arc contradict each other.
Result<void> sensesFromEdges(const std::vector<Member>& members, const Links& links,
                             std::vector<int>& sense) {
    const std::size_t n = members.size();
    for (std::size_t i = 0; i < n; ++i) {
        if (!members[i].isEdge()) continue;
        const std::size_t before = (i + n - 1) % n, after = (i + 1) % n;
        if (links.links[i].kind == LinkKind::Straight || links.links[before].kind == LinkKind::Straight)
            continue;
        const Vec2 travel = links.links[i].joint - links.links[before].joint;
        for (const std::size_t k : {before, after}) {
            const std::size_t link = k == after ? i : before;
            if (!members[k].isArc() || links.links[link].kind != LinkKind::Tangent) continue;
            const int s =
                senseFromEdge(travel, links.links[link].joint, links.circles[members[k].circle].centre);
            if (sense[k] != 0 && sense[k] != s)
                return pairError(members[k], members[i], "cannot be joined smoothly in this order",
                                 "check the order of the chain and the marks of its neighbours");
            sense[k] = s;
        }
    }
    return {};
}

bool propagateAlongArcs(const std::vector<Member>& members, const Links& links, std::vector<int>& sense) {
    bool changed = false;
    const std::size_t n = members.size();
    for (std::size_t i = 0; i < n; ++i) {
        const std::size_t j = (i + 1) % n;
        const Link& link = links.links[i];
        if (link.kind != LinkKind::Tangent || link.contact == Contact::Kind::Line) continue;
        const int flip = link.contact == Contact::Kind::Outside ? -1 : 1;
        if (sense[i] != 0 && sense[j] == 0) sense[j] = flip * sense[i], changed = true;
        if (sense[j] != 0 && sense[i] == 0) sense[i] = flip * sense[j], changed = true;
    }
    return changed;
}

}  // namespace

Error pairError(const Member& a, const Member& b, const std::string& what, const std::string& remedy) {
    return {ErrorCode::BadValue, what, a.name + " and " + b.name, remedy};
}

Result<Links> classify(const std::vector<Member>& members, const ChainOptions& options) {
    Links links;
    for (const Member& m : members)
        if (m.isArc()) links.circles.push_back(m.circleOf());
    for (std::size_t i = 0; i < members.size(); ++i) {
        auto link = classifyPair(members[i], members[(i + 1) % members.size()], links, options);
        if (!link) return link.error();
        links.links.push_back(*link);
    }
    return links;
}

Result<void> placeJoints(const std::vector<Member>& members, Links& links) {
    const std::size_t n = members.size();
    for (std::size_t i = 0; i < n; ++i) {
        const Member &a = members[i], &b = members[(i + 1) % n];
        Link& link = links.links[i];
        if (link.kind == LinkKind::Tangent) link.joint = tangentPoint(a, b, links, *link.contact);
        if (link.kind != LinkKind::Cross) continue;
        // With two members both crossings are joints: the edge runs from the first to the second.
        // (two arcs: their crossings come in the opposite order when asked for the other way about).
        const int which = n != 2 ? -1 : a.isEdge() ? 1 : 0;
        const auto p = crossing(a, b, links, which);
        if (!p) return p.error();
        link.joint = *p;
    }
    return {};
}

Result<std::vector<int>> senses(const std::vector<Member>& members, const Links& links) {
    std::vector<int> sense(members.size(), 0);
    if (const auto done = sensesFromEdges(members, links, sense); !done) return done.error();
    while (propagateAlongArcs(members, links, sense)) {
    }
    const std::size_t n = members.size();
    for (std::size_t i = 0; i < n; ++i) {
        if (!members[i].isArc() || sense[i] != 0) continue;
        sense[i] = senseFromMarks(members[i], links.circles[members[i].circle].centre,
                                  links.links[(i + n - 1) % n].joint, links.links[i].joint);
        while (propagateAlongArcs(members, links, sense)) {
        }
    }
    return sense;
}

}  // namespace trammel::drawing
