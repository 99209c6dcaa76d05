// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/fit/CoarseSearch.h"
#include "core/fit/EdgeFit.h"

namespace trammel::fit {

/// What was looked through for the meant edge.
struct Search {
    const Guide& guide;
    const Family& family;
    const Profiles& profiles;
    std::size_t handPoints = 2;
    bool rim = false;
};

/// The meant edge among those found: the one that the user chose (`options.chosen`), the only plausible one,
/// or of two plausible lines the one on the side of the transition that the feature names. Refused, with all
/// rivals in `rivals` where that is given, when nothing decides between them; refused also when nothing is
/// there, or when the hand's points lie further from the nearest edge than a hand errs in 998 of 1000 marks.
Result<Candidate> meantEdge(const std::vector<Candidate>& candidates, const Search& search,
                            const FitOptions& options, std::vector<Rival>* rivals);

}  // namespace trammel::fit
