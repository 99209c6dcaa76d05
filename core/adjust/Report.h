// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <string_view>

#include "core/adjust/Solution.h"

namespace trammel::adjust {

/// All residuals together in a sentence: how large they are beside what the stated σ lead one to expect, the
/// root of the variance factor, and between which bounds that is ordinary.
std::string globalText(const GlobalTest& global);

/// How many marks are as the hand placed them, and that fitting comes before all else; empty where none is.
std::string handMarkText(const survey::Survey& survey);

/// The report for people: dimensions with ± and what carries them, levels and their shapes,
/// suspects, withheld checks with pass or fail, what the observations cannot tell, global test, notes.
std::string reportText(const survey::Survey& survey, const Solution& solution);

/// A withheld check reading that chance hardly explains (probability below 0.01). Only of those marked
/// `check`.
bool missed(const ObservationResult& check);

/// True when nothing disagrees: global test passed, no suspects, every check dimension within its ±.
bool agrees(const Solution& solution);

/// A suspect's cause as one word for machines: "unknown", "wrong-tie", "inches", ...
std::string_view causeName(Cause cause);

}  // namespace trammel::adjust
