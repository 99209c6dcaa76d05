// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Round.h"

namespace trammel::adjust {

/// The first adjustment of a survey, from its own start values. Where marks leave the start open, or the one
/// that looked best does not settle or fits badly, the other starts are adjusted too and the lowest sum of
/// squares is taken. Where that fails, or leaves residuals far above their σ while a photograph's marks lie
/// off as a whole, that photograph is oriented anew on the others, then further starts are tried
/// (StartAgain.h, findOtherStarts); what they lead to is taken where it explains the misfit. A survey that
/// fits pays nothing for this. Errors as solveRound and findStarts.
Result<Round> firstRound(Network& network, const Options& options, const Progress* progress);

}  // namespace trammel::adjust
