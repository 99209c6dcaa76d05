// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/drawing/OutlineChain.h"
#include "core/drawing/Seat.h"

/// The steps of buildChain: what each neighbourhood of a chain is, and where neighbours meet.
namespace trammel::drawing {

/// One feature of the chain.
struct Member {
    survey::Id id;
    std::string name;  ///< as people know it, "edge E1"
    survey::FeatureKind kind = survey::FeatureKind::Corner;
    adjust::FeatureGeometry geometry;
    std::size_t circle = 0;  ///< arcs: index in Links::circles
    bool usedOnce = true;    ///< an edge may serve both sides of a notch
    bool isCorner() const { return kind == survey::FeatureKind::Corner; }
    bool isEdge() const { return kind == survey::FeatureKind::Edge; }
    bool isArc() const { return kind == survey::FeatureKind::Arc || kind == survey::FeatureKind::Hole; }
    geometry::Line line() const { return {geometry.point.head<2>(), geometry.direction}; }
    geometry::Circle circleOf() const { return {geometry.point.head<2>(), geometry.radius}; }
};

enum class LinkKind { Cross, Tangent, Corner, Straight };

/// Between member i and the next one.
struct Link {
    LinkKind kind = LinkKind::Cross;
    std::optional<Contact::Kind> contact;  ///< of Tangent
    Vec2 joint = Vec2::Zero();             ///< not for Straight
};

struct Links {
    std::vector<Link> links;                ///< links[i] joins members[i] and members[i + 1]
    std::vector<geometry::Circle> circles;  ///< of the arcs, seated
    std::vector<Contact> contacts;
};

/// Decides tangent or crossing for every pair, and what each arc must touch.
Result<Links> classify(const std::vector<Member>& members, const ChainOptions& options);

/// Fills in the joints, with the arcs seated.
Result<void> placeJoints(const std::vector<Member>& members, Links& links);

/// +1 anticlockwise or −1 for every arc, 0 for other members.
Result<std::vector<int>> senses(const std::vector<Member>& members, const Links& links);

/// Error of a pair: "edge E1 and arc A2 <what>; <remedy>."
Error pairError(const Member& a, const Member& b, const std::string& what, const std::string& remedy);

}  // namespace trammel::drawing
