// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/fit/RefineSurvey.h"

namespace trammel::guide {

/// A hand errs by a few pixels, and then two edges may both be meant: the first look (fit::refine) leaves
/// such a mark as it is. Once the marks that could be fitted are adjusted, the others are expected to a
/// fraction of a pixel, and the edge that is meant is the one at that place. `survey` holds the marks after
/// the first look, `byHand` the same marks before. Each hand mark that is no suspect is looked for where the
/// adjustment (its own hand mark included) expects it, and taken only where the offer is sure
/// (fit/Propose.h): one edge there, as expected to 99.9 %, not another feature's. What then disagrees with
/// the other photographs goes back to the hand, in as many rounds as bring something new, at most three.
///
/// Returns the ids of the marks newly fitted; none when the survey cannot be adjusted yet. Cancelled work
/// leaves the survey as far as it came; a photograph that cannot be had is passed over.
std::vector<survey::Id> lookAgain(survey::Survey& survey, const survey::Survey& byHand,
                                  const fit::PhotographProvider& photographs,
                                  const fit::RefineOptions& options = {}, const Progress* progress = nullptr);

}  // namespace trammel::guide
