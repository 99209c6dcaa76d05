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
    const std::vector<double>& hand;  ///< where the hand's points lie along the guide
    bool rim = false;
    double slack = 1.0;  ///< how many times as much as usual the hand may be off in the search
};

/// How far a hand may have meant to click, as chances of χ² over its points: nobody asked, and where the user
/// chose the edge afterwards.
inline constexpr double kHandReach = 0.998, kChosenReach = 0.99999;

std::vector<double> placesAlong(const Guide& guide, const std::vector<Vec2>& points);

/// The meant edge among those that the family can reach: the one that the user chose (`options.chosen`), the
/// only plausible one, or of two plausible lines the one on the side of the transition that the feature
/// names. Rivals from which a fit would end on one and the same edge count once. Refused, with all rivals in
/// `rivals` where that is given, when nothing decides between them; refused also when nothing is there, when
/// the hand's points lie further from the nearest edge than a hand errs in 998 of 1000 marks (`kHandReach`),
/// or further from a chosen one than in 99 999 of 100 000: an edge that far off is never offered either.
Result<Candidate> meantEdge(const Search& search, const FitOptions& options, std::vector<Rival>* rivals);

}  // namespace trammel::fit
