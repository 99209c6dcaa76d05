// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/adjust/Solution.h"
#include "core/base/Result.h"
#include "core/survey/Survey.h"

namespace trammel::app {

/// A survey file with its adjustment, as the commands that hand something over start from it.
struct AdjustedSurvey {
    survey::Survey survey;
    adjust::Solution solution;
    bool agrees = false;
};

/// Reads, looks after the photographs (not with `marksOnly`) and adjusts. Every photograph that is missing or
/// changed but the last is complained of at once; that one is the error.
Result<AdjustedSurvey> adjustedSurvey(const std::string& file, bool marksOnly);

/// kDisagrees with its sentence on standard error, or kGood.
int verdict(bool agrees);

}  // namespace trammel::app
