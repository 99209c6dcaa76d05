// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/fit/RefineSurvey.h"

namespace trammel::app {

/// Adjusts the survey with its fitted marks and gives those that disagree with the other photographs their
/// hand points back: the picture held an edge, but not the one meant (a sliver of wall, a shadow). Each is
/// added to the refusals. Returns how many went back; none when the survey cannot be adjusted yet.
int retractDisagreeing(survey::Survey& fitted, const survey::Survey& byHand,
                       std::vector<fit::Refusal>& refusals);

}  // namespace trammel::app
