// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/photo/Exif.h"
#include "core/survey/Edit.h"

namespace trammel::storage {

/// Of the frame's long side: how far off centre sensors are mounted, standard uncertainty.
inline constexpr double kPrincipalPointSigma = 0.01;

/// A camera body as surveys and kept lenses call it: "Maker Model no. SERIAL", as far as the file says.
std::string bodyName(const photo::Exif& exif);
/// A lens as they call it: "Maker Model".
std::string lensName(const photo::Exif& exif);

struct ImportedPhotograph {
    survey::Edit edit;               ///< puts the station, and its camera group when it is a new one
    survey::Id station;              ///< id of the new station
    survey::Id group;                ///< id of its camera group
    std::vector<std::string> notes;  ///< plain sentences: what the file does not say, what was assumed
};

/// A photograph file as an edit that adds its station to the survey: EXIF read, upright size, content hash,
/// path relative to the survey file's folder (absolute while the survey has no file: `surveyFile` empty).
///
/// Crop: known when EXIF's pixel dimensions equal the picture's. Otherwise the picture was cropped or
/// resized, or says nothing; crop.known is then false and the user has to be asked (the full frame is the one
/// EXIF names, if any, with the offset of a crop from its middle).
///
/// Camera group: an existing one with the same body, lens, focal length, orientation and full-frame size,
/// whether set by hand since or not. Otherwise a new one with
/// - principal distance: prior from EXIF with 10 % (core/photo/PrincipalDistance.h), else free;
/// - principal point: the middle of the full frame, prior of 1 % of its long side, or of half the long side
///   when the crop is unknown;
/// - k1: prior 0 ± what moves the frame's corner by 2 % of its distance (free when c is unknown);
///   other distortion constants fixed at 0.
///
/// Fails when the file is no readable photograph, or its name is no UTF-8.
Result<ImportedPhotograph> importPhotograph(const survey::Survey& survey,
                                            const std::filesystem::path& surveyFile,
                                            const std::filesystem::path& photograph, survey::View view);

}  // namespace trammel::storage
