// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/geometry/Chain.h"

/// Curves at a distance from closed chains; arcs stay arcs.
///
/// Method: every piece is moved sideways by |d| (an arc keeps its centre), a round piece of radius |d| is put
/// about every corner whose neighbours part, all these are cut where they cross each other, and what lies
/// nearer than |d| to the chain is thrown away. What is left is the border of the area that a disc of radius
/// |d| covers as its centre runs along the chain, hence exact, and any number of closed chains: a chain may
/// fall apart or vanish where it shrinks, and close over a bay where it grows.
namespace trammel::geometry {

enum class Corners {
    Round,  ///< outer corners get arcs about the corner: everything is exactly |d| away
    Sharp,  ///< outer corners of up to kSharpest stay corners; sharper ones, and arcs' ends, are round
};

/// An outer corner turning by more than this many radians is not extended to a point (2π/3: its point would
/// lie farther than 2 |d| from the corner).
inline constexpr double kSharpest = 2.0943951023931953;

/// Curves closer than this count as one (mm); results keep their distance to better than this.
inline constexpr double kOffsetTolerance_mm = 2e-6;

/// All curves at distance |d| (mm) from a simple closed chain, outside of it for d > 0, inside for d < 0,
/// whichever way it runs. Outer borders run like the chain, borders of enclosed islands the other way.
/// Empty: nothing of it is left. d = 0 gives the chain itself. Refused (BadValue): values that are no
/// numbers, a chain that is not simple, and (Refused) curves that could not be joined at this distance.
Result<std::vector<Chain>> offsetAll(const Chain& chain, double d, Corners corners = Corners::Round);

struct ToolPath {
    Chain chain;
    /// A round tool cannot come into an inner corner: the most that stays uncut there, and where.
    double missed_mm = 0.0;
    Vec2 missedAt = Vec2::Zero();
};

/// The path of the middle of a beam or cutter of radius |d| that works along the chain, outside of it for
/// d > 0, inside for d < 0. Refused with a sentence that names the place where the chain cannot be followed:
/// the path falls apart, vanishes or leaves a slot uncut that is narrower than the beam ("kerf larger than
/// the slot"). Left uncut in inner corners: at most 2 |d|, told in missed_mm (for a right angle 0.414 |d|).
Result<ToolPath> toolPath(const Chain& chain, double d, Corners corners = Corners::Round);

}  // namespace trammel::geometry
