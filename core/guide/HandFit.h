// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/fit/RefineSurvey.h"

namespace trammel::guide {

/// What came of fitting the hand marks of a survey.
struct HandFit {
    survey::Survey survey;                ///< with the fitted marks in it
    std::vector<fit::Refusal> refusals;   ///< marks that keep their hand points, and why
    std::vector<survey::Id> disagreeing;  ///< of these, those whose edge disagrees with the other photographs
    std::vector<Error> photographs;       ///< those that could not be had
    int tried = 0, fitted = 0;
};

/// Fits the hand marks (fit::refine), gives those their hand points back that then disagree with the other
/// photographs (adjust::retractDisagreeing), and looks again for what is left (lookAgain). Cancelled work
/// returns what was fitted so far. Error where the fitted marks do not fit into the survey.
Result<HandFit> fitHandMarks(const survey::Survey& byHand, const fit::PhotographProvider& photographs,
                             const fit::RefineOptions& options = {}, const Progress* progress = nullptr);

}  // namespace trammel::guide
