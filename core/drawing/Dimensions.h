// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Solution.h"
#include "core/drawing/Drawing.h"
#include "core/drawing/OutlineChain.h"

namespace trammel::drawing {

/// Fills drawing.rows with every dimension of the solution, and drawing.figures (not yet placed) with those
/// that show in plan. A distance in space between points of unequal height, a height, depth, angle or tape
/// does not: its row says drawn = false. `features` are those of the shown face.
void addDimensions(const survey::Survey& survey, const adjust::Solution& solution, const Features& features,
                   Drawing& drawing);

}  // namespace trammel::drawing
