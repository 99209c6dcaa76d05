// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <memory>

#include "core/adjust/Adjust.h"
#include "core/adjust/Influence.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// One adjusted state with its covariance.
struct Round {
    int iterations = 0;
    double sum = 0.0;
    std::shared_ptr<estimate::CovarianceFactor> covariance;
    std::shared_ptr<const Influence> influence{};  ///< from when the observations were last judged
};

/// Adjusts the network with its owners as active as they now are, from the state it is in; at success the
/// network stands at the minimum. Error: what hangs loose (RankDefect; `defect`, where given, then holds the
/// columns), NoConvergence, Cancelled. `near`: the state is about one observation away from the minimum, so
/// that the first step needs no damping.
Result<Round> solveRound(Network& network, const Options& options, const Progress* progress,
                         estimate::RankDefect* defect = nullptr, bool near = false);

}  // namespace trammel::adjust
