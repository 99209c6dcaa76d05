// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <filesystem>
#include <string>

#include "core/base/Result.h"

namespace trammel::photo {

enum class FileFormat { Jpeg, Png, Tiff, Heic, Raw };

/// What a file is by its first bytes, whatever its name says; a TIFF whose directories hold a sensor's mosaic
/// (TIFF/EP, DNG and most makers' raw files are such) is a raw file. Fails for a folder, a file that is
/// missing, empty or of none of these kinds.
Result<FileFormat> formatOf(const std::filesystem::path& file);

/// "JPEG", "camera raw", ...
const char* formatName(FileFormat format);

/// What a file claims of its picture, before a pixel is decoded.
struct Header {
    int width = 0, height = 0;  ///< as stored, before orientation
    int channels = 0;           ///< 1 grey, 3 colour, once decoded
    int orientation = 0;      ///< EXIF's 1..8 where the format has a say of its own; 0: that of the EXIF tag
    double leastBytes = 0.0;  ///< what the smallest file with such a picture holds
};

/// Claims of more pixels are refused before any memory is taken.
inline constexpr double kMostPixels = 256e6;

/// Nothing when the claim is one that can be worked on and that a file of this size could hold.
Result<void> checkClaim(const Header& header, const std::filesystem::path& file);

/// The errors that all readers share; each is one sentence that names the file.
Error damaged(const std::filesystem::path& file);
Error truncated(const std::filesystem::path& file);
Error refused(const std::filesystem::path& file, std::string what, std::string remedy);

}  // namespace trammel::photo
