// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/adjust/AdviceReadings.h"

namespace trammel::adjust {

/// Several readings meant to be taken together.
struct ReadingPlan {
    std::vector<std::size_t> readings;  ///< indices into the possible readings; the best alone comes first
    double score = 0.0;                 ///< Goal::score after all of them
    VecX variances;                     ///< of the goal's dimensions after all of them
};

/// A good set of `count` readings. The best reading alone need not belong to it: where several dimensions are
/// nearly as bad as the worst, no single reading shrinks the worst by much, and which one comes first decides
/// how far the set gets. Greedy choice by three norms of the dimensions' figures (the quadratic, one near the
/// largest, and the score itself), each improved by exchanging one reading at a time until no exchange helps
/// (Fedorov 1972), over the readings that promise most for the score and for each dimension. What a set
/// leaves is exact; that no other set leaves less is not proved. With `first` given, the set holds that one.
ReadingPlan planReadings(const PossibleReadings& readings, const Goal& goal, const estimate::Planned& planned,
                         std::size_t count, std::optional<std::size_t> first = std::nullopt);

}  // namespace trammel::adjust
