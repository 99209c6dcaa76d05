// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/drawing/Drawing.h"
#include "core/geometry/Piece.h"

namespace trammel::rules {

/// The shortest way between two lines that are cut.
struct Web {
    double width_mm = 0.0;
    Vec2 from = Vec2::Zero(), to = Vec2::Zero();
    std::string a, b;       ///< "outline board", "hole H1"; the same where a line comes near to itself
    bool material = false;  ///< true: material lies between; false: a gap
};

/// Between every two chains and holes of a level to be cut that come nearer than this, and of each chain to
/// itself: a neck or a narrow bay, at the narrowest place where the way along the line is more than three
/// times the way across (nearer it is a corner; nothing is told of two pieces that meet). Widths to 1e-3 mm.
/// Narrowest first.
std::vector<Web> websBelow(const drawing::Drawing& drawing, double width_mm);

/// The nearest points of two pieces that do not cross.
Web between(const geometry::Piece& a, const geometry::Piece& b);

}  // namespace trammel::rules
