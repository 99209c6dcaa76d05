// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <vector>

#include "core/base/Error.h"
#include "core/base/Progress.h"
#include "core/survey/Edit.h"

namespace trammel::ui {

/// What was read from new photographs: one edit that adds them all, what could not be read, and what the
/// user should know of the others.
struct PhotographsRead {
    survey::Edit edit;
    std::vector<Error> problems;
    std::vector<std::string> notes;
};

/// Reads the files one by one (size, EXIF, hash). The view is guessed from the file's name ("front-2.jpg"),
/// else top; the user corrects it. Runs on a worker; `survey` is a snapshot and `surveyFile` the place that
/// photograph paths are relative to (empty: absolute paths).
PhotographsRead readPhotographs(const survey::Survey& survey, const std::filesystem::path& surveyFile,
                                const std::vector<std::filesystem::path>& files, const Progress& progress);

}  // namespace trammel::ui
