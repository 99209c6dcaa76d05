// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>

#include "core/base/Result.h"
#include "core/guide/HandFit.h"

namespace trammel::campaign {

/// The hand marks fitted as `trammel fit` does it; photograph paths are relative to `folder`, and all must be
/// had.
Result<guide::HandFit> fitToPhotographs(const survey::Survey& byHand, const std::filesystem::path& folder);

}  // namespace trammel::campaign
