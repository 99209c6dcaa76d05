// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/base/Result.h"
#include "core/geometry/Intersect.h"

namespace trammel::drawing {

/// What an arc must touch exactly.
struct Contact {
    enum class Kind {
        Line,     ///< tangent to a line
        Outside,  ///< tangent to another arc's circle, centres on opposite sides of the joint
        Inside,   ///< tangent to another arc's circle, one within the other
        Point,    ///< passes through a point
    } kind = Kind::Line;
    std::size_t arc = 0;
    std::size_t other = 0;  ///< the second arc of Outside and Inside
    geometry::Line line;
    Vec2 point = Vec2::Zero();
};

/// How far a circle misses a contact, mm: positive when it does not reach, negative when it reaches too far.
double miss(const std::vector<geometry::Circle>& circles, const Contact& contact);

/// Moves the circles by the least amount (sum of squares over all centres) until every contact holds, by
/// Newton's method with minimum-norm steps. Radii stay as they are, unless an arc lies between two nearly
/// parallel lines, or no solution near by exists with fixed radii: then radii move too.
/// Residual on success: below 1e-10 mm. False when the contacts contradict each other.
bool seat(std::vector<geometry::Circle>& circles, const std::vector<Contact>& contacts);

}  // namespace trammel::drawing
