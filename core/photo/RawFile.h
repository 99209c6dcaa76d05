// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <optional>

#include "core/photo/Exif.h"
#include "core/photo/FileFormat.h"
#include "core/photo/Image.h"

/// Camera raw files by LibRaw: the sensor's mosaic interpolated (AHD, Hirakawa & Parks 2005; by squares of
/// 2 × 2 when a small picture will do), white balance as shot, the camera's colours turned into those of
/// sRGB, no brightening. LibRaw's linear 16 bits become codes of the sRGB curve. A lens correction that the
/// file declares is not applied: the adjustment finds the lens itself.
namespace trammel::photo {

Result<Header> readRawHeader(const std::filesystem::path& file);

/// As stored, before orientation; `half` gives half the size (rounded as LibRaw does) in a tenth of the time.
Result<Image> readRawPixels(const std::filesystem::path& file, bool half);

/// The camera's own small picture as a JPEG's bytes or as pixels, turned as the raw picture is stored.
struct RawPreview {
    std::string jpeg;
    Image image;
};
Result<std::optional<RawPreview>> readRawPreview(const std::filesystem::path& file);

/// Camera, lens and focal length as LibRaw has them, for files that the EXIF reader does not know.
Result<Exif> readRawExif(const std::filesystem::path& file);

}  // namespace trammel::photo
