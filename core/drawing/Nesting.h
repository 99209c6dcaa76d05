// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/base/Result.h"
#include "core/drawing/Drawing.h"

namespace trammel::drawing {

/// Within each level: chains must not touch, cutouts and holes to be cut lie inside an outline where the
/// level has one, no hole in a cutout, no two holes or chains at one place. The error names both.
Result<void> checkNesting(const Drawing& drawing);

}  // namespace trammel::drawing
