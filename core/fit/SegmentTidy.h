// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/fit/Segment.h"

namespace trammel::fit {

/// What the price of a piece does not settle: neighbours that one line or arc follows within the ± are one
/// (the best such pair first, until there is none), a short piece between two that reach each other without
/// it within the ± is none, and a short line between two lines is the tangent arc that joins them where that
/// follows the points better than the chamfer does.
std::vector<Segment> tidySegments(const std::vector<Vec2>& points, const std::vector<double>& sigmas,
                                  std::vector<Segment> segments, const SegmentOptions& options);

}  // namespace trammel::fit
