// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Network.h"
#include "core/adjust/Solution.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// Levels that are not flat: of those taken as flat (or as plane), whether the marks say that they tilt (or
/// bow), by the score test (Rao 1948): how much the sum of squares would fall, to first order, if the tilt
/// (2 unknowns; the bow: 3 more) were let free. χ² of as many degrees of freedom while the level is flat;
/// said where it is less likely than `probability` over all levels together. What the marks cannot tell,
/// because no two directions see the level's height, is left unsaid. For levels that the survey lets tilt or
/// bow: by how much they do, or that nothing of it shows.
std::vector<LevelShape> levelShapes(const Network& network, const estimate::CovarianceFactor& covariance,
                                    double inflation, double probability = 0.001);

}  // namespace trammel::adjust
