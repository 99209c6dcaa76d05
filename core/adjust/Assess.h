// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Network.h"
#include "core/adjust/Solution.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// The test of one owner and how unlikely it is by chance.
struct Assessment {
    ObservationResult result;
    double logProbability = 0.0;  ///< ln; of the whole, or of its worst point times the number of points
};

/// Tests each observation as a whole (Teunissen, Testing Theory, chapter 4: block test) and point by point
/// (Baarda 1968). An active one against its residuals' own covariance I − J Σ Jᵀ; one that did not take part
/// (check, excluded, set aside) against the covariance of its prediction, I + J Σ Jᵀ.
std::vector<Assessment> assess(const Network& network, const estimate::CovarianceFactor& covariance);

}  // namespace trammel::adjust
