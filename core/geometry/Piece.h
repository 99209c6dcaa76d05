// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/geometry/Chain.h"

namespace trammel::geometry {

/// One straight or circular piece of a chain, with its circle worked out. mm, rad.
struct Piece {
    Vec2 from = Vec2::Zero(), to = Vec2::Zero();
    double bulge = 0.0;
    Circle circle;            ///< arcs only
    double startAngle = 0.0;  ///< arcs only: direction from the centre to `from`
    double sweep = 0.0;       ///< arcs only: signed included angle, 4 atan(bulge)

    Piece(const Vec2& from, const Vec2& to, double bulge);
    bool isArc() const { return bulge != 0.0; }
    Vec2 middle() const;
    /// The point at share t of its length from `from`; its ends exactly.
    Vec2 at(double t) const;
    double length() const;  ///< mm, along the arc where it is one
    /// Whether the direction of `p` from the arc's centre falls in its sweep, widened by slack_mm on the rim.
    bool inSweep(const Vec2& p, double slack_mm) const;
    Bounds bounds() const;
};

std::vector<Piece> pieces(const Chain& chain);

/// Shortest distance of a point from the piece.
double distance(const Piece& piece, const Vec2& point);

/// Whether two pieces come within the tolerance of each other anywhere.
bool touch(const Piece& a, const Piece& b, double tolerance_mm);

}  // namespace trammel::geometry
