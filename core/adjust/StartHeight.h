// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/StartPoints.h"

namespace trammel::adjust {

/// Start value of the height of a level that no point holds: its edges, seen in several photographs, lie on
/// one line each only when their marks are carried back onto the plane of the right height. Searched between
/// minus and plus one and a half times the size of what is known. False when no edge of the level is seen
/// twice.
bool heightFromEdges(const Network& network, int level, const Known& known, double& z);

}  // namespace trammel::adjust
