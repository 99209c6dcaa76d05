// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>

#include "core/base/Result.h"
#include "core/survey/Survey.h"

namespace trammel::campaign {

/// A survey whose hand marks were fitted to its photographs, as `trammel fit` does it.
struct FittedSurvey {
    survey::Survey survey;
    int tried = 0, fitted = 0;
};

/// Photograph paths are relative to `folder`.
Result<FittedSurvey> fitToPhotographs(const survey::Survey& byHand, const std::filesystem::path& folder);

}  // namespace trammel::campaign
