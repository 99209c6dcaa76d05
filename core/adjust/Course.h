// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Solution.h"

namespace trammel::adjust {

/// Points along a feature in space: one of a corner, `steps` pieces of an edge, hole or arc, else its course.
std::vector<Vec3> courseOf(const FeatureGeometry& feature, int steps);

}  // namespace trammel::adjust
