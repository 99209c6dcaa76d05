// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Projection.h"
#include "core/adjust/State.h"

namespace trammel::adjust {

/// Hands each column of a station and of its group to `put(column, d)`, with d the derivative of a point's
/// image (px) with respect to it: the one place that knows how a camera moves what it shows. Columns that are
/// not estimated are −1. `growth`: what a unit of the group's growth of light does to the point, px.
/// Constants fixed in the normalised sense scale with c: K = k (ρκ)^power.
template <class Put>
void forCameraColumns(const Columns& columns, const State& state, int station, const Projected& proj,
                      const Vec2& growth, Put put) {
    const auto& cs = columns.stations[at(station)];
    for (int k = 0; k < 3; ++k) put(cs[at(k)], Vec2(proj.byRotation.col(k)));
    put(cs[3], Vec2(proj.byLnScale));
    put(cs[4], Vec2(proj.byG.col(0)));
    put(cs[5], Vec2(proj.byG.col(1)));
    put(cs[6], Vec2(-Vec2::UnitX()));
    put(cs[7], Vec2(-Vec2::UnitY()));
    const int group = state.stations[at(station)].group;
    const auto& cg = columns.groups[at(group)];
    const GroupState& g = state.groups[at(group)];
    Vec2 byKappa = proj.byLnKappa;
    for (int k = 0; k < 5; ++k)
        if (cg[at(3 + k)] < 0) byKappa += proj.byBrown.col(k) * (kBrownPower[at(k)] * g.K[at(k)]);
    put(cg[0], byKappa);
    put(cg[1], Vec2(proj.byPp.col(0)));
    put(cg[2], Vec2(proj.byPp.col(1)));
    for (int k = 0; k < 5; ++k) put(cg[at(3 + k)], Vec2(proj.byBrown.col(k)));
    if (!growth.isZero()) put(cg[9], growth);
}

}  // namespace trammel::adjust
