// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/calibrate/CalibratePhotographs.h"

namespace trammel::calibrate {

/// The whole calibration for a terminal: constants with ±, photographs, coverage, remarks, advice.
std::string calibrationText(const LensCalibration& calibration);

/// What it comes to, in a sentence or two.
std::string verdict(const LensCalibration& calibration);

/// Two lines about a kept lens: whose, when, and its first constants with ±.
std::string recordText(const LensRecord& record);

}  // namespace trammel::calibrate
