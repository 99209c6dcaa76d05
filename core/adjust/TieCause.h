// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <map>
#include <vector>

#include "core/adjust/Assess.h"

namespace trammel::adjust {

/// Another feature that a mark lies on.
struct TieGuess {
    Id feature;
    Id orElse{};       ///< one that it may as well be; empty where the first is 100 times as likely as any
    double off = 0.0;  ///< px, root mean square
};

/// For each of the marks, given with how far it is off where it is tied now (px): the feature of the same
/// kind that it lies on, where the survey knows that feature's image `better` times better than the mark
/// missed its own. A chamfer's other edge, the neighbouring hole. The marks take no part, or are bent onto
/// their feature only; none of them helps to place the other feature.
std::map<int, TieGuess> guessTies(const Influence& influence, const std::map<int, double>& marks,
                                  double better = 3.0);

}  // namespace trammel::adjust
