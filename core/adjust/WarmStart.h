// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/adjust/Network.h"
#include "core/adjust/Solution.h"

namespace trammel::adjust {

/// Start values from an earlier solution, matched by ids; axes and height of the datum may have changed. What
/// of the camera is fixed is taken from the survey. Features that were marked since, or changed their kind or
/// level, are carried back onto it by the photographs as they stand. False, with the network's state of no
/// use, where the earlier solution does not carry that far: a photograph, a level or a camera is new, a
/// photograph shows fewer than four features, a new corner is free in space or a new feature cannot be
/// intersected.
bool warmStart(Network& network, const Solution& previous);

/// Owners that the earlier solution had set aside.
std::vector<int> setAsideBefore(const Network& network, const Solution& previous);

/// How setAsideBefore() knows an owner again.
std::string ownerKey(const Owner& owner);

}  // namespace trammel::adjust
