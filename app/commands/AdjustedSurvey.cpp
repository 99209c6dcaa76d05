// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/AdjustedSurvey.h"

#include <fmt/core.h>

#include "app/commands/Commands.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"
#include "core/storage/SurveyFile.h"

namespace trammel::app {

Result<AdjustedSurvey> adjustedSurvey(const std::string& file, bool marksOnly) {
    AdjustedSurvey a;
    auto survey = storage::load(file);
    if (!survey) return survey.error();
    a.survey = std::move(*survey);
    if (!marksOnly) {
        const auto wrong = storage::checkPhotographs(a.survey, file);
        for (std::size_t i = 0; i + 1 < wrong.size(); ++i) complain(wrong[i]);
        if (!wrong.empty()) return wrong.back();
    }
    auto solution = adjust::adjust(a.survey);
    if (!solution) return solution.error();
    a.solution = std::move(*solution);
    a.agrees = adjust::agrees(a.solution);
    return a;
}

int verdict(bool agrees) {
    if (agrees) return kGood;
    fmt::print(stderr,
               "The survey disagrees with itself, so do not cut from these files yet; trammel adjust names "
               "the readings and marks most likely at fault.\n");
    return kDisagrees;
}

}  // namespace trammel::app
