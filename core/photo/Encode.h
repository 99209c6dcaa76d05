// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>

#include "core/base/Result.h"
#include "core/photo/Image.h"

namespace trammel::photo {

/// Colour at full size (4:4:4), or halved both ways (4:2:0) as most cameras store it.
enum class Chroma { Full, Halved };

/// Writes a baseline JPEG of this quality (1..100).
Result<void> encodeJpeg(const Image& image, const std::filesystem::path& file, int quality,
                        Chroma chroma = Chroma::Full);

}  // namespace trammel::photo
