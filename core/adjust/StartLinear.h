// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Network.h"

namespace trammel::adjust {

/// A feature's point as one station sees it: a corner, or the middle of a hole's rim (start values only).
struct Sighting {
    int station = 0, feature = 0;
    Vec2 px = Vec2::Zero();
};

/// Corners, and rims of holes where they are seen roughly face on.
std::vector<Sighting> sightings(const Network& network);

/// What of the start is already known.
struct Known {
    std::vector<bool> station, featurePlan, level;
    std::vector<bool> featureSpace;  ///< a free corner's z, or the z of its level
};

/// One sparse linear least squares over the given sightings: unknown are the features' points and the
/// heights, and for stations in `unknownStations` also scale, roll and offset with the direction of the view
/// held. All other stations of the sightings are used as they stand. Marks what it has found in `known`.
void solveLinear(Network& network, const std::vector<Sighting>& seen,
                 const std::vector<bool>& unknownStations, Known& known);

}  // namespace trammel::adjust
