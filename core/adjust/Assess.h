// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Influence.h"
#include "core/adjust/Solution.h"

namespace trammel::adjust {

/// The test of one owner and how unlikely it is by chance.
struct Assessment {
    ObservationResult result;
    double logProbability = 0.0;  ///< ln; of the whole, or of its worst point times the number of points
};

/// Tests each observation as a whole (Teunissen, Testing Theory, chapter 4: block test) and point by point
/// (Baarda 1968). An active one against its residuals' own covariance I − J Σ Jᵀ; one that did not take part
/// (check, excluded, set aside) against the covariance of its prediction, I + J Σ Jᵀ.
std::vector<Assessment> assess(const Influence& influence);

/// ln of the chance of residuals e with covariance Q: of the whole, or of the worst point times their number.
double logProbability(const VecX& e, const MatX& Q, const std::vector<std::pair<int, int>>& points);

/// A dimension as a function of the unknowns.
struct DimensionGradient {
    Id id;
    estimate::Gradient gradient;
};

/// Fills in, for each observation that takes part, how well the others control a shift of it (redundancy
/// numbers) and its external reliability (Baarda 1968): the dimension that an error just too small to be
/// noticed would move most, and by how much. That error may lie in any controlled direction of the
/// observation; what no residual controls has no smallest detectable error, and `weakest` tells.
void findReliability(const Influence& influence, const std::vector<DimensionGradient>& dimensions,
                     std::vector<Assessment>& assessments);

}  // namespace trammel::adjust
