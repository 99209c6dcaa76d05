// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <optional>
#include <string>

#include "core/base/Result.h"

namespace trammel::photo {

/// What the file says of its camera (CIPA DC-008). Absent or implausible tags stay empty.
struct Exif {
    std::string make, model, bodySerial, lensMake, lensModel;
    int orientation = 1;                                ///< 1..8
    std::optional<double> focalLength_mm;               ///< FocalLength
    std::optional<double> focalLength35_mm;             ///< FocalLengthIn35mmFilm
    std::optional<double> focalPlaneResolution_per_mm;  ///< FocalPlaneXResolution in px per mm on the sensor
    std::optional<int> pixelWidth, pixelHeight;         ///< PixelXDimension, PixelYDimension
    std::optional<double> fNumber, subjectDistance_m, digitalZoom;
    std::string dateTimeOriginal;
    std::optional<int> customRendered;  ///< CustomRendered: 0 is an ordinary picture
    std::optional<int> compositeImage;  ///< CompositeImage: 2 and 3 are made of several exposures
    bool merged = false;                ///< XMP tells of a panorama, or of exposures merged for range
    bool straightened = false;          ///< the camera or a program says that it removed lens distortion
    bool correctionDeclared = false;    ///< a raw file's lens correction (DNG OpcodeList3), not applied here
};

/// From any file that `decode` reads. `orientation` is the turn that `decode` applies, which in HEIC and raw
/// files is the container's.
Result<Exif> readExif(const std::filesystem::path& file);

/// Writes these tags into an existing JPEG (used by the renderer).
Result<void> writeExif(const std::filesystem::path& file, const Exif& exif);

}  // namespace trammel::photo
