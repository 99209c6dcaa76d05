// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <map>
#include <vector>

#include "core/adjust/Assess.h"

namespace trammel::adjust {

/// Another feature that a mark lies on.
struct TieGuess {
    Id feature;
    double off = 0.0;  ///< px, root mean square
};

/// For each of the marks (owners that take no part): the feature of the same kind that it lies on within its
/// noise, where the survey knows that feature's image three times better than the mark missed its own, and
/// where no other feature fits as well. A chamfer's other edge, the neighbouring hole.
std::map<int, TieGuess> guessTies(const Influence& influence, const std::vector<Assessment>& assessments,
                                  const std::vector<int>& marks);

}  // namespace trammel::adjust
