// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <optional>
#include <string>

#include "core/photo/Exif.h"
#include "core/photo/FileFormat.h"
#include "core/photo/Image.h"

/// HEIC (ISO/IEC 23008-12) by libheif. Its own turn and mirror boxes are the ones that count, and the library
/// applies them; the EXIF orientation beside them is a copy that a reader has to ignore. What is returned
/// here as pixels is therefore upright already.
namespace trammel::photo {

/// What stands beside the pixels.
struct HeicExtras {
    std::string exif;  ///< TIFF structure, without the "Exif" marker
    std::string xmp;
    std::string icc;
    /// Transfer function of the picture when the file names it by number (ITU-T H.273): 13 is the sRGB curve.
    std::optional<int> transfer;
};

/// EXIF's orientation only names the turn that was applied (libheif does not tell it): it is believed where
/// it makes the sizes that EXIF states of the upright ones, and else 1 is reported. The sizes are those
/// before that turn.
Result<Header> readHeicHeader(const std::filesystem::path& file, const Exif& exif);
Result<HeicExtras> readHeicExtras(const std::filesystem::path& file);
Result<Image> readHeicPixels(const std::filesystem::path& file);
/// The embedded small picture, upright; nothing when there is none.
Result<std::optional<Image>> readHeicPreview(const std::filesystem::path& file);

}  // namespace trammel::photo
