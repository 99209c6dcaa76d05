// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/AdviceGoal.h"

namespace trammel::adjust {

struct RankedView {
    AdvisedView view;
    double score = 0.0;  ///< Goal::score after it
    VecX variances;      ///< of the goal's dimensions after it
};

/// One more photograph from each principal view, and obliquely from eight sides at four elevations, with the
/// camera group most used (see AdvisedView for what it is taken to show). All are put into a copy of the
/// survey as marked stations, linearised at the adjusted state by the network itself, and each taken up on
/// its own with its six unknowns. Best first; those that would hang loose are left out.
std::vector<RankedView> possibleViews(const Solution& solution, const Goal& goal);

/// The survey with that photograph in it, marks placed where the adjusted features would appear, free of
/// noise. The new station is the last one. For forecasts and their tests; no picture belongs to it.
survey::Survey withView(const Solution& solution, const AdvisedView& view);

}  // namespace trammel::adjust
