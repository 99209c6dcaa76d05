// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/StartLinear.h"

namespace trammel::adjust {

/// Orients stations that see too little relief for an affine resection, from homographies of one level.
/// Where points of the level are known already, each station's homography is decomposed with the principal
/// distance as given (Zhang 2000, section 3.1, for the constraints on its columns). Where nothing is known
/// (oblique views of one flat part only) the tilt of the first station is searched over a grid: the right one
/// makes the homographies of all others consistent with one camera.
/// Stations that cannot be oriented stay unknown in `known`.
Result<void> startFromPlane(Network& network, const std::vector<Sighting>& seen,
                            const std::vector<bool>& used, Known& known);

}  // namespace trammel::adjust
