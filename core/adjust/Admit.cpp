// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Admit.h"

#include <cmath>

#include "core/adjust/Assess.h"
#include "core/adjust/Influence.h"

namespace trammel::adjust {

std::vector<int> holdBackConditions(Network& n) {
    std::vector<int> held;
    for (const NetworkCondition& c : n.conditions()) {
        Owner& owner = n.owners()[at(c.owner)];
        if (owner.active) held.push_back(c.owner);
        owner.active = false;
    }
    return held;
}

Result<Round> admitConditions(Network& n, Round round, const std::vector<int>& conditions,
                              const Options& options, const Progress* progress, std::vector<int>& refuted) {
    if (conditions.empty()) return round;
    std::vector<int> agree;
    {
        const Influence influence(n, *round.covariance);
        if (!influence.valid()) return round;
        for (const int c : conditions) {
            const OwnerRows& rows = influence.rows(c);
            const bool holds =
                !options.findSuspects || logProbability(rows.residual(), influence.Q(c), rows.points) >
                                             std::log(options.suspectProbability);
            (holds ? agree : refuted).push_back(c);
        }
    }
    if (agree.empty()) return round;
    for (const int c : agree) n.owners()[at(c)].active = true;
    auto next = solveRound(n, options, progress, nullptr, true);
    if (next) next->iterations += round.iterations;
    return next;
}

}  // namespace trammel::adjust
