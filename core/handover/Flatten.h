// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/geometry/Chain.h"

namespace trammel::handover {

/// Points along a closed chain so close that chords stay within this distance of its arcs (sagitta: r θ²/8).
/// Only for pictures: what is cut keeps its arcs.
std::vector<Vec2> flattened(const geometry::Chain& chain, double most);

}  // namespace trammel::handover
