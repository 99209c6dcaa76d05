// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <memory>

#include "core/adjust/Adjust.h"
#include "core/adjust/Network.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// One adjusted state with its covariance.
struct Round {
    int iterations = 0;
    double sum = 0.0;
    std::shared_ptr<estimate::CovarianceFactor> covariance;
};

/// Adjusts the network with its owners as active as they now are, from the state it is in; at success the
/// network stands at the minimum. Error: what hangs loose (RankDefect; `defect`, where given, then holds the
/// columns), NoConvergence, Cancelled.
Result<Round> solveRound(Network& network, const Options& options, const Progress* progress,
                         estimate::RankDefect* defect = nullptr);

}  // namespace trammel::adjust
