// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Network.h"

/// Start values of the rarer kinds of feature.
namespace trammel::adjust {

/// A slot from points of its rim in its level: middle line by the scatter's axes, ends and width by the
/// points' extent. Needs points on the sides and at both ends to come near.
void fitSlot(FeatureState& slot, const std::vector<Vec2>& rim);

/// A free curve's nodes, evenly spread by number over the points of its longest mark, in their order.
void fitCurve(FeatureState& curve, const std::vector<Vec2>& course);

/// An edge free in space: the line in which the planes of sight of its photographs meet. False where all of
/// them look along one plane.
bool placeFreeEdge(Network& network, std::size_t feature, const std::vector<const ImagePoint*>& points);

/// Radius and plane of a hole or arc free in space whose centre is known: it faces the photograph that shows
/// it roundest.
void placeFreeCircle(Network& network, std::size_t feature, const std::vector<const ImagePoint*>& points);

}  // namespace trammel::adjust
