// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <functional>
#include <vector>

#include "core/base/Result.h"
#include "core/fit/EdgeFit.h"
#include "core/fit/Trail.h"

namespace trammel::fit {

/// From px of the photograph to px as a lens without distortion would give them (same size in the middle).
/// Empty: the photograph's own. An edge that the lens bends is then straight where it counts.
using Undistort = std::function<Vec2(const Vec2&)>;

/// A straight or circular part of a trail. Shape in undistorted px, x right and y down.
struct Piece {
    enum class Kind { Line, Arc };
    Kind kind = Kind::Line;
    Vec2 from = Vec2::Zero(), to = Vec2::Zero();      ///< ends: where it meets its neighbours
    Vec2 fromPx = Vec2::Zero(), toPx = Vec2::Zero();  ///< the same places in the photograph as it is
    Mat2 fromCovariance = Mat2::Zero(), toCovariance = Mat2::Zero();  ///< px²; of an open trail's own ends:
                                                                      ///< across the piece only
    Vec2 centre = Vec2::Zero();                                       ///< arc
    double radius = 0.0;                                              ///< arc
    double sweep = 0.0;  ///< arc: from `from` to `to` (rad), positive from +x towards +y; ±2π: a circle
    double radiusSigma_px = 0.0;
    double sigma_px = 0.0;         ///< across the piece, in its middle
    bool tangentToNext = false;    ///< it runs into the next without a corner
    int samples = 0;               ///< points that support it
    std::vector<FitPoint> points;  ///< on the edge, px of the photograph as it is, each with σ across
};

struct SplitOptions {
    /// A piece must stay within this of the edge (k = 2): what is smaller is taken for roughness.
    double plusMinus_px = 0.3;
    double shortest_px = 8.0;       ///< of a piece
    double largestRadius_px = 1e5;  ///< beyond this an arc is a line
    bool refine = true;  ///< fit each piece to the original pixels again; false: the trail's own points only
};

/// The fewest lines and arcs that stay on the trail: dynamic programming over all breaks with χ² of the
/// residuals and a price for each piece after Schwarz (1978), then one least-squares fit of all pieces in
/// which neighbours are tangent unless the points refute it (χ² of the miss, 1 %). Corners are the
/// intersections of neighbours. A closed trail's last piece meets its first; a whole circle is one piece.
/// Refused when the trail has too few points.
Result<std::vector<Piece>> splitTrail(const photo::LinearImage& image, const Trail& trail,
                                      const SplitOptions& options = {}, const Undistort& undistort = {});

}  // namespace trammel::fit
