// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/fit/EdgeFit.h"

/// Slots and free curves found in the photograph, like the edges and rims of EdgeFit.h: the hand says which
/// edge, the picture where; what it cannot tell is refused in one sentence.
namespace trammel::fit {

/// Rim of a slot near hand-placed rim points (at least five, in any order). Points all round, `points` of
/// them where the rim is long enough; where part of it is hidden, those of the part that shows (half at
/// least). Refused between rivals, it hands them out.
Result<Fit> fitSlot(const photo::LinearImage& image, const std::vector<Vec2>& rim,
                    const FitOptions& options = {}, int points = 16, std::vector<Rival>* rivals = nullptr);

/// Points along a free curve, evenly spaced from the first of the hand's points (at least four, in order) to
/// the last; round and round where these run into each other. About one for every 12 px, 8 to 48, and no
/// fewer than the hand's; their σ holds what a spline with half as many nodes cannot follow. A rival beside a
/// part of the curve is no choice for the whole: none is handed out.
Result<Fit> fitCurve(const photo::LinearImage& image, const std::vector<Vec2>& course,
                     const FitOptions& options = {});

/// Whether a free curve's points go on from the last to the first: their gap is hardly wider than the steps
/// between them. The adjustment goes by the same rule.
bool runsRound(const std::vector<Vec2>& course);

}  // namespace trammel::fit
