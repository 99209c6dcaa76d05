// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/AdviceCandidates.h"
#include "core/adjust/AdviceGoal.h"
#include "core/estimate/Planned.h"

namespace trammel::adjust {

struct RankedReading {
    std::size_t reading = 0;  ///< index into the possible readings
    double score = 0.0;       ///< Goal::score after it
    VecX variances;           ///< of the goal's dimensions after it
};

/// Variances of the goal's dimensions with what is planned.
VecX variancesOf(const Goal& goal, const estimate::Planned& planned);

/// The `count` best of all possible readings, best first: exhaustive. For a reading c and each dimension d
/// var_d' = var_d − cov(d,c)² / (σ² + var c). The covariances are cheap for all readings at once, var c is
/// not; but var c ≥ cov(d,c)² / var_d (Cauchy & Schwarz), which bounds the score from below. Readings are
/// taken in the order of that bound until it is worse than the last of the best: none that could be among
/// them is passed over. `done` marks readings that are not to be taken (again); it may be empty.
std::vector<RankedReading> bestReadings(const PossibleReadings& readings, const Goal& goal,
                                        const estimate::Planned& planned, std::size_t count,
                                        const std::vector<bool>& done = {});

/// What one of them would leave.
RankedReading rankReading(const PossibleReadings& readings, const Goal& goal,
                          const estimate::Planned& planned, std::size_t reading);

/// For each of the `dimensions` worst dimensions the `each` readings that could shrink it most, by that
/// bound.
std::vector<std::size_t> promising(const PossibleReadings& readings, const Goal& goal,
                                   const estimate::Planned& planned, std::size_t each,
                                   std::size_t dimensions);

}  // namespace trammel::adjust
