// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Network.h"

namespace trammel::adjust {

/// A set of start values and how well its points alone fit.
struct Start {
    State state;
    double cost = 0.0;  ///< sum of squared misses of corners and middles of holes over a rough σ of 1 px
};

/// Start values for every unknown, from the marks alone; nobody is asked for a guess.
/// 1. The principal views, taken as orthographic and square but for a roll about the axis, give one sparse
///    linear system in scale, roll and offset of each photograph, plan positions and heights; a few steps
///    over these points then let the views tilt and put the perspective in (StartBundle.h).
/// 2. Further photographs are oriented one by one on what is then known, the one that shows most first
///    (StartResect.h). Points of one level only allow two tilts of a long lens (Necker's reversal): both are
///    followed, all photographs put together decide, and what they do not decide comes back as several
///    starts. A survey of oblique views only is started from homographies of one level (StartPlane.h).
/// 3. Remaining features by intersection, scale from the readings, axes from the datum.
/// Best first, never empty. Error NotConnected names the photograph that shares too little with the others.
Result<std::vector<Start>> findStarts(const Network& network);

/// More of them, for where those led to no good fit: from two principal views at a time, the others oriented
/// on these one by one, and from one level taken as seen from anywhere. As above; may be empty.
Result<std::vector<Start>> findOtherStarts(const Network& network);

/// The best of findStarts, set as the network's state.
Result<void> findStart(Network& network);

/// Parts of it that a warm start shares: camera constants from the survey's values; the axes turned and
/// shifted to where the datum wants them.
void startGroups(Network& network);
void startDatum(Network& network);

}  // namespace trammel::adjust
