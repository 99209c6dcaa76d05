// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/AdviceMarks.h"

#include <set>

#include "core/adjust/AdviceCandidates.h"
#include "core/adjust/Covariance.h"
#include "core/adjust/Network.h"
#include "core/estimate/Normal.h"

namespace trammel::adjust {

std::optional<VecX> withFinerMarks(const Solution& solution, const Goal& goal, double factor) {
    const Covariance& covariance = *solution.covariance;
    auto network = Network::compile(covariance.survey());
    if (!network) return std::nullopt;
    const std::set<Id> aside = accused(solution);
    for (Owner& owner : network->owners())
        if (aside.contains(owner.object)) owner.active = false;
    network->state() = covariance.state();
    network->forgetFeet();
    std::vector<estimate::Rows> rows;
    if (!network->linearise(rows, true)) return std::nullopt;
    const std::vector<int> owners = network->rowOwners();
    for (std::size_t r = 0; r < rows.size(); ++r)
        if (network->owners()[at(owners[r])].kind == Owner::Kind::Mark)
            for (auto& component : rows[r].J)
                for (double& d : component) d /= factor;
    estimate::Normal normal(network->layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    const estimate::CovarianceFactor finer(normal, defect);
    if (!finer.valid()) return std::nullopt;
    VecX variances(static_cast<Eigen::Index>(goal.wanted().size()));
    for (Eigen::Index d = 0; d < variances.size(); ++d)
        variances[d] = finer.variance(goal.wanted()[static_cast<std::size_t>(d)].gradient);
    return variances;
}

}  // namespace trammel::adjust
