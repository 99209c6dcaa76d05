// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>

#include "core/photo/FileFormat.h"
#include "core/photo/Image.h"

/// TIFF (TIFF 6.0 and its large form) by libtiff: the first page, grey or RGB of 8 or 16 bits in strips or
/// tiles, with any compression that the library undoes. What else it can turn into 8-bit RGB (palettes,
/// YCbCr) is read so; CMYK, floating point and other depths are refused by name.
namespace trammel::photo {

/// Whether one of the directories, or one beneath them, holds a sensor's mosaic or names a DNG version.
bool holdsMosaic(const std::filesystem::path& file);

Result<Header> readTiffHeader(const std::filesystem::path& file);

/// The whole picture as stored. Codes are taken as they are; transparency is ignored.
Result<Image> readTiffPixels(const std::filesystem::path& file);

}  // namespace trammel::photo
