// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <vector>

#include "core/calibrate/LensStore.h"

namespace trammel::ui {

/// A kept lens that fits a camera group of new photographs.
struct LensFound {
    survey::Id group;
    calibrate::LensMatch match;
};

/// The best kept lens for each camera group that the edit's photographs belong to and that was not calibrated
/// yet. `survey` has the edit applied; photograph paths are relative to `photoFolder` (or whole). Files of
/// the store that are damaged are passed over: `trammel lenses` names them. Runs on a worker.
std::vector<LensFound> keptLensesFor(const survey::Survey& survey, const survey::Edit& edit,
                                     const std::filesystem::path& photoFolder,
                                     const calibrate::LensStore& store);

}  // namespace trammel::ui
