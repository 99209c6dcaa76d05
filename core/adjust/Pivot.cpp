// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Pivot.h"

#include <Eigen/Geometry>
#include <cmath>

namespace trammel::adjust {

void turnAboutPivots(State& state, const std::vector<StationState>& before, const std::vector<Vec3>& turns,
                     const std::vector<Vec3>& pivots) {
    for (std::size_t s = 0; s < before.size(); ++s) {
        const Vec3 p = before[s].R * pivots[s];
        const Vec3 bend = state.stations[s].R * pivots[s] - p - turns[s].cross(p);
        state.stations[s].g -= std::exp(state.stations[s].lnScale) * bend.head<2>();
    }
}

}  // namespace trammel::adjust
