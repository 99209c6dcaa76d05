// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string_view>

#include "core/base/Result.h"

namespace trammel::handover {

/// All or nothing: written to a neighbour file, flushed to disk, then renamed into place. On failure a file
/// that stood there before is whole and the neighbour is gone.
Result<void> writeFile(const std::filesystem::path& file, std::string_view bytes);

}  // namespace trammel::handover
