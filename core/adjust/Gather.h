// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Network.h"
#include "core/adjust/Solution.h"

namespace trammel::adjust {

/// Copies the adjusted state into the solution's features, levels, stations and groups, by id.
void gatherGeometry(const Network& network, Solution& solution);

}  // namespace trammel::adjust
