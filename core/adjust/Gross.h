// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Round.h"

namespace trammel::adjust {

/// Components that weigh less the unknowns.
int freedom(const Network& network);

/// Whether single large mistakes seem to have carried the adjustment away: it failed, and marks and readings
/// do not fit where it stopped. (One that only lacks something fits what there is.)
bool carriedAway(const Network& network, const Result<Round>& round);

/// The adjustment once more from the start, with weights that fall with the residual (Cauchy's, in a scale
/// that shrinks from the spread at the start to 3 σ; Huber 1981 for the principle), so that large mistakes
/// lose their pull. What then stands off by more than eight σ takes no part in the round returned and is
/// listed in `gross`; tests must decide who of them is taken back. Keeps network and round as they were, and
/// lists none, where this does not lead to a smaller sum of squares.
void leaveGross(Network& network, const Options& options, const Progress* progress, Result<Round>& round,
                std::vector<int>& gross);

}  // namespace trammel::adjust
