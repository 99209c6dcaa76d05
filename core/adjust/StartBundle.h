// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/StartPoints.h"

namespace trammel::adjust {

/// A few Levenberg-Marquardt steps over the points alone: known photographs, points that two of them show,
/// and heights; the cameras' constants as given. Principal views are drawn towards square with the survey's
/// σ, never stronger than 1°, or not at all where the prior is off. Scale and place are those of the
/// photograph that shows most. Sets the hypothesis's cost.
void bundlePoints(Hypothesis& h, const Network& network, int mostIterations);

}  // namespace trammel::adjust
