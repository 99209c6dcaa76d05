// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/adjust/Network.h"
#include "core/adjust/Solution.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// What these observations cannot tell, one plain sentence each: principal distances and stand-offs that only
/// their prior holds (from far away the two are nearly one unknown, and no dimension needs them apart),
/// offsets of crops, heights known worse than 1 mm,
/// steps of which only a depth without sign is known, and marks that nothing controls, whose errors would go
/// unnoticed. `inflation` widens every ± after a failed global test, as elsewhere.
std::vector<std::string> limits(const Network& network, const estimate::CovarianceFactor& covariance,
                                const std::vector<ObservationResult>& observations,
                                const std::vector<LightGrowth>& lightGrowths, double inflation);

}  // namespace trammel::adjust
