// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <map>

#include "core/base/Progress.h"
#include "core/base/Result.h"
#include "core/fit/RefineSurvey.h"
#include "core/survey/Edit.h"

namespace trammel::ui {

/// What is to be fitted to the picture: a mark, and for a corner one point on either edge (none: its edges
/// are taken from the survey or found in the picture).
struct FitWish {
    survey::Survey survey;
    survey::Id mark;
    std::vector<Vec2> along;
    std::map<survey::Id, QString> paths;                ///< the photograph of each station
    std::array<std::optional<fit::Rival>, 2> chosen{};  ///< what the user chose where it was refused before
    std::map<survey::Id, double> scales{};  ///< px/mm of the photographs, where an adjustment tells
};

/// Fits the mark as the fit of all hand marks would, with the same σ. Runs on a worker. Refused between
/// several edges, it hands them out.
Result<survey::Mark> fitMark(const FitWish& wish, const Progress& progress,
                             std::vector<fit::Rival>* rivals = nullptr);

/// What came of fitting all hand marks.
struct AllFitted {
    survey::Edit edit;
    std::vector<survey::Id> back;     ///< found an edge that disagrees: they keep their hand points
    std::vector<survey::Id> between;  ///< refused because several edges may be meant
    std::vector<Error> photographs;   ///< could not be had
    int tried = 0;
};

/// Fits all hand marks of a survey. Cancelled work is an Error. Runs on a worker.
Result<AllFitted> fitAll(const survey::Survey& survey, const std::map<survey::Id, QString>& paths,
                         const std::map<survey::Id, double>& scales, const Progress& progress);

}  // namespace trammel::ui
