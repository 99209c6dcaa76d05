// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <vector>

#include "core/base/Progress.h"
#include "core/survey/Edit.h"

namespace trammel::ui {

/// What was read from new photographs: the edit that adds them, and what could not be read.
struct PhotographsRead {
    survey::Edit edit;
    std::vector<Error> problems;
};

/// Reads size, EXIF and hash of each file and composes stations and camera groups. Files of one body, lens
/// and focal length share a camera. A crop counts as known only when EXIF gives a frame of the stored size;
/// else the user is asked. Runs on a worker; `survey` is a snapshot.
PhotographsRead readPhotographs(const survey::Survey& survey, const std::vector<std::filesystem::path>& files,
                                const Progress& progress);

}  // namespace trammel::ui
