// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <vector>

#include "core/base/Progress.h"
#include "core/calibrate/Calibrate.h"

namespace trammel::calibrate {

struct PhotographOptions {
    bool uneven = true;    ///< see CalibrateOptions
    double focus_m = 0.0;  ///< distance focused at, where EXIF does not tell; 0 unknown
    int threads = 2;
};

struct LensCalibration {
    Calibration calibration;
    LensRecord record;
};

/// From the files of photographs to the record of their lens: board found, corners located, constants
/// adjusted with the corners of cornerSubPix first and then twice with fitted ones, straightened by the
/// constants found before. Works in the frame as the sensor lies level, so that photographs of a body held
/// upright (EXIF orientation 3, 6, 8) serve as the turn by 90° that they are.
///
/// Refused in one sentence, besides what `calibrate` refuses: a file that cannot be read, pictures of
/// different sizes, photographs of another body, lens or focal length by their EXIF, pictures stored
/// mirrored, and when fewer than three show the board (with the reason of the first that does not).
Result<LensCalibration> calibratePhotographs(const std::vector<std::filesystem::path>& files,
                                             const Board& board, const PhotographOptions& options = {},
                                             const Progress* progress = nullptr);

}  // namespace trammel::calibrate
