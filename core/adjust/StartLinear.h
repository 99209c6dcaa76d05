// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/StartPoints.h"

namespace trammel::adjust {

/// Principal views taken as orthographic and square but for a roll about the axis: one sparse linear least
/// squares in scale, roll and offset of each, plan positions and heights. Scale is that of `anchor`. A view
/// that shares fewer than four points with those that hang together with the anchor is left out.
void startPrincipal(Hypothesis& h, const std::vector<bool>& principal, int anchor);

/// Points and heights from the photographs that are known, perspective included (the equations are linear in
/// the point). Says of each point and level whether these photographs hold it.
void placePoints(Hypothesis& h);

}  // namespace trammel::adjust
