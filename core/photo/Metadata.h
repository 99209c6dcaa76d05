// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <optional>
#include <string>

#include "core/base/Result.h"
#include "core/photo/Exif.h"
#include "core/photo/FileFormat.h"

namespace trammel::photo {

/// All that stands beside the pixels.
struct Metadata {
    Exif exif;
    std::string icc;              ///< embedded colour profile; empty when there is none
    std::optional<int> transfer;  ///< see HeicExtras
};

/// One look at a file whose format is known. A file whose EXIF cannot be read is an error; pixels may still
/// be sound.
Result<Metadata> readMetadata(const std::filesystem::path& file, FileFormat format);

/// The largest preview that the EXIF reader finds in the file, as the bytes of a JPEG; empty when there is
/// none.
std::string readEmbeddedJpeg(const std::filesystem::path& file);

}  // namespace trammel::photo
