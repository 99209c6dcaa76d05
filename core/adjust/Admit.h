// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Round.h"

/// Conditions are assumptions: what was seen and measured comes first. They wait until the rest is adjusted,
/// are tested one by one against what it predicts (block test, Teunissen, Testing Theory, chapter 4), and
/// only those that agree take part. A false one with a small σ would else bend the part, and marks would be
/// blamed.
namespace trammel::adjust {

/// Makes the network's conditions inactive; returns those that were active.
std::vector<int> holdBackConditions(Network& network);

/// From a round without them: those that agree become active and the network is adjusted again; the others
/// are added to `refuted` and stay inactive. Errors as solveRound.
Result<Round> admitConditions(Network& network, Round round, const std::vector<int>& conditions,
                              const Options& options, const Progress* progress, std::vector<int>& refuted);

}  // namespace trammel::adjust
