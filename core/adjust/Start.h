// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Network.h"

namespace trammel::adjust {

/// Start values for every unknown, from the marks alone; nobody is asked for a guess.
/// 1. The principal views, taken as orthographic and square but for a roll about the axis, give one sparse
///    linear system in scale, roll and offset of each photograph, plan positions and heights.
/// 2. Oblique views by affine resection on what is then known (scaled orthographic camera; Tomasi & Kanade
///    1992 for the model); where the known points lie in one plane, by the plane's homography (StartPlane.h).
/// 3. Remaining features by intersection, scale from the readings, axes from the datum.
/// A survey of oblique views of a single level is started from homographies (StartPlane.h).
/// Error NotConnected names the photograph that shares too little with the others.
Result<void> findStart(Network& network);

}  // namespace trammel::adjust
