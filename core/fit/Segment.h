// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstddef>
#include <vector>

#include "core/math/Types.h"

namespace trammel::fit {

/// A run of points taken for one line or arc. `last` is the first point of the next run; in a closed row both
/// are counted modulo the number of points and `last` may be smaller than `first`.
struct Segment {
    std::size_t first = 0, last = 0;
    bool arc = false;
};

struct SegmentOptions {
    bool closed = false;
    double spacing_px = 1.0;
    double plusMinus_px = 0.3;
    double shortest_px = 8.0;
    double guard_px = 3.0;  ///< beside a break, where blur rounds a corner: points there are not counted
    double largestRadius_px = 1e5;
};

/// The breaks for which Σ χ² + a price per piece is least, by dynamic programming over every pair of breaks
/// (Bellman 1961). χ² of a line is that of its total least squares, of an arc that of Kåsa's algebraic circle
/// (1976), both from running sums; the price is that of Schwarz (1978): unknowns times ln n. Done on every
/// fourth point first, then on all near the breaks found. A closed row is cut at a break of a first round.
std::vector<Segment> segmentPoints(const std::vector<Vec2>& points, const std::vector<double>& sigmas,
                                   const SegmentOptions& options);

}  // namespace trammel::fit
