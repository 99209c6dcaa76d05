// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/calibrate/CalibratePhotographs.h"
#include "core/sheet/Sheet.h"

namespace trammel::calibrate {

/// One page: the frame, tinted where corners lie, with every corner that counts and its residual enlarged
/// (scale stated), those left out in another colour, the constants with ±, photographs with RMS, remarks and
/// advice.
sheet::Sheet calibrationPage(const LensCalibration& calibration);

}  // namespace trammel::calibrate
