// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/base/Result.h"
#include "core/fit/EdgePath.h"
#include "core/math/Types.h"
#include "core/photo/Image.h"

/// From a few clicks on an irregular outline to points along it, to a fraction of a pixel:
///
///     fit::EdgeFollower follower(image);                      // once a photograph
///     auto trail = fit::followTrail(image, follower, clicks); // while the user clicks
///     auto pieces = fit::splitTrail(image, *trail);           // core/fit/Split.h
///     auto edit = fit::trailEdit(survey, *pieces, ...);       // core/fit/TrailEdit.h
namespace trammel::fit {

struct TrailOptions {
    bool closed = false;        ///< the last click leads back to the first
    double handSigma_px = 2.0;  ///< how near the edge a click lies (one standard error)
    double spacing_px = 1.0;    ///< between points
};

/// A point of the edge, located across it.
struct TrailPoint {
    Vec2 px = Vec2::Zero();      ///< of the photograph as it is, lens and all
    Vec2 along = Vec2::UnitX();  ///< unit vector in the direction of travel
    double sigma_px = 0.0;       ///< across, from how the edge scatters about itself
};

struct Trail {
    std::vector<TrailPoint> points;  ///< in order; those that a glint or a crossing line moved are left out
    std::vector<Vec2> path;          ///< whole pixels from click to click, to draw while the user goes on
    bool closed = false;
    double length_px = 0.0;  ///< of a closed one all the way round
};

/// Refused when fewer than two clicks are given (three when closed), when one lies outside the picture or
/// near no edge, or when no edge leads from one to the next ("no edge leads from click 2 to click 3"): an
/// edge is never made up. Clicks are counted from 1.
Result<Trail> followTrail(const photo::LinearImage& image, const EdgeFollower& follower,
                          const std::vector<Vec2>& clicks, const TrailOptions& options = {});

/// Only the way in whole pixels, fast enough to follow the mouse: the last click may be the pointer.
Result<std::vector<Vec2>> followClicks(const EdgeFollower& follower, const std::vector<Vec2>& clicks,
                                       const TrailOptions& options = {});

}  // namespace trammel::fit
