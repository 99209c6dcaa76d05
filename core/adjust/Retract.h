// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/survey/Survey.h"

namespace trammel::adjust {

/// Adjusts a survey with freshly fitted marks and gives those that disagree with the other photographs their
/// hand points back: the picture held an edge, but not the one meant (a sliver of wall, a shadow). Returns
/// the marks that went back; none when the survey cannot be adjusted yet.
std::vector<survey::Id> retractDisagreeing(survey::Survey& fitted, const survey::Survey& byHand);

}  // namespace trammel::adjust
