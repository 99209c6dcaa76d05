// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/State.h"

namespace trammel::adjust {

/// A camera that tilts while its image of the origin stays where it is moves everything that lies nearer or
/// farther than the origin, and a long step moves it along an arc. Where marks hold a camera's direction only
/// through its prior (a flat part seen edge on) that arc is a bent valley that a solver follows in very small
/// steps. After a step of the unknowns this takes the bend out: the middle of what the station shows moves by
/// exactly its linear share, as if the camera turned about it. A second-order change of the path; derivatives
/// and minimum stay as they are. `before`: the stations as they stood; `turns`: rotation vector of each;
/// `pivots`: middle of what each shows, mm.
void turnAboutPivots(State& state, const std::vector<StationState>& before, const std::vector<Vec3>& turns,
                     const std::vector<Vec3>& pivots);

}  // namespace trammel::adjust
