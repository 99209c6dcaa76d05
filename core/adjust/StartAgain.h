// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Network.h"

namespace trammel::adjust {

/// Photographs whose marks lie off by more than their σ allow as the network stands, even without the worst
/// eighth of them; worst first: cameras that may have come to stand wrongly. A single mistake among many
/// marks does not accuse a photograph. `chance`: how often good marks may lie off as far.
std::vector<int> misplaced(const Network& network, double chance);

/// Places all points, features and heights anew by the cameras as they stand.
void placeAnew(Network& network);

/// Other ways in which one photograph may have been taken, best first, given what the others show: they are
/// adjusted without it from the state the network is in, it is oriented on them anew from directions all
/// around, and what only it shows is placed with it. The network is left as it was. Empty where the others do
/// not hold the photograph.
std::vector<State> reorient(const Network& network, int station);

}  // namespace trammel::adjust
