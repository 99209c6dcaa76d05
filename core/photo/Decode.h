// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>

#include "core/base/Result.h"
#include "core/photo/Image.h"

namespace trammel::photo {

/// Size of the picture as stored (before orientation), read from the header only.
struct StoredSize {
    int width = 0, height = 0;
};
Result<StoredSize> storedSize(const std::filesystem::path& file);

/// Decodes a JPEG or PNG and turns it upright by its EXIF orientation. `shrink` 1, 2, 4 or 8 divides the
/// size while decoding (JPEG in the frequency domain, PNG by averaging). Refuses truncated and lying files.
Result<Image> decode(const std::filesystem::path& file, int shrink = 1);

/// SHA-256 of the file's bytes, hex.
Result<std::string> contentHash(const std::filesystem::path& file);

}  // namespace trammel::photo
