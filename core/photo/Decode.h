// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <optional>

#include "core/base/Result.h"
#include "core/photo/Image.h"

namespace trammel::photo {

/// Size of the picture as stored (before orientation), read from the header only. With the orientation that
/// `readExif` gives it makes the size of what `decode` gives.
struct StoredSize {
    int width = 0, height = 0;
};
Result<StoredSize> storedSize(const std::filesystem::path& file);

/// How much of a picture is wanted.
enum class Depth {
    Full,   ///< for measuring: with `Image::deep` where the file has more than 8 bits
    ForEye  ///< 8 bits are enough
};

/// Decodes a JPEG, PNG, TIFF, HEIC or camera raw file, turns it upright, and turns the codes of an embedded
/// profile with another curve into those of the sRGB curve. `shrink` 1, 2, 4 or 8 divides the size while
/// decoding (JPEG in the frequency domain, raw files first by squares of the mosaic, others by averaging
/// light); a shrunk picture is for the eye. Refuses truncated and lying files.
Result<Image> decode(const std::filesystem::path& file, int shrink = 1, Depth depth = Depth::Full);

/// The small picture that the camera put into the file, upright and without the black bars that pad it to
/// another shape; nothing when there is none. Takes a hundredth of the time of decoding.
Result<std::optional<Image>> preview(const std::filesystem::path& file);

/// SHA-256 of the file's bytes, hex.
Result<std::string> contentHash(const std::filesystem::path& file);

}  // namespace trammel::photo
