// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/StartPoints.h"

namespace trammel::adjust {

/// Start values of edges, holes and arcs, and of heights that only they show: their marks are carried back
/// onto their level by the oriented photographs and fitted there (total least squares line; Kåsa 1976
/// circle).
void startShapes(Network& network, Known& known);

/// One feature of a level whose height is known; `known` tells whether its marks sufficed.
void fitOnLevel(Network& network, std::size_t feature, Known& known);

}  // namespace trammel::adjust
