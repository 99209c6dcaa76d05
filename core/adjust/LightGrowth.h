// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Network.h"
#include "core/adjust/Solution.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// px across an edge that one unit of growth does to the fitted marks of a camera, as the root of their mean
/// square; 0 where none knows it.
double typicalGrowth(const survey::Survey& survey, const Id& group);

/// What was found of each camera that has the unknown, with a sentence where it is more than its doubt.
std::vector<LightGrowth> lightGrowths(const Network& network, const estimate::CovarianceFactor& covariance,
                                      double inflation);

}  // namespace trammel::adjust
