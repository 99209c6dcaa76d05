// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/StartPoints.h"

namespace trammel::adjust {

/// Where nothing is known but oblique views of one flat part: the tilt of the photograph that shows most of
/// the fullest level is searched over a grid; the right one makes the homographies of all others consistent
/// with one camera (Zhang 2000, section 3.1, for the constraints on their columns). Sets that photograph, the
/// level as the one of height zero, and the plan positions of its points. False when no level carries four
/// points.
bool startFromPlane(Hypothesis& h, const std::vector<bool>& used);

}  // namespace trammel::adjust
