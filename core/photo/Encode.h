// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>

#include "core/base/Result.h"
#include "core/photo/Image.h"

namespace trammel::photo {

/// Writes a baseline JPEG with 4:4:4 chroma and this quality (1..100).
Result<void> encodeJpeg(const Image& image, const std::filesystem::path& file, int quality);

}  // namespace trammel::photo
