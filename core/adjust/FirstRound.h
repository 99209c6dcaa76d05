// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Round.h"

namespace trammel::adjust {

/// The first adjustment of a survey, from its own start values. Where marks leave the start open, or the one
/// that looked best does not settle or fits badly, the other starts are adjusted too and the lowest sum of
/// squares is taken. Errors as solveRound and findStarts.
Result<Round> firstRound(Network& network, const Options& options, const Progress* progress);

}  // namespace trammel::adjust
