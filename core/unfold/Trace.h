// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/unfold/Placed.h"

namespace trammel::unfold {

/// A place of a feature along one axis of the views: what a projector line carries to a neighbouring view.
struct Trace {
    enum class Role {
        Centre,  ///< of a hole, arc or slot
        Line,    ///< a corner, an edge square to the axis, the rim where it turns, a level's height
        End,     ///< where the marked part of a feature ends: nobody measured that, it has no ±
    };
    Vec3 at = Vec3::Zero();  ///< in the axes of the views
    int axis = 0;            ///< 0 x, 1 y, 2 z of the views
    Role role = Role::Line;
    std::optional<double> sigma;  ///< mm, k = 1, of at[axis]
    double value() const { return at[axis]; }
    double plusMinus() const { return sigma ? 2.0 * *sigma : 0.0; }  ///< k = 2
};

/// All traces of a feature. An edge within 2° of square to an axis has one trace there, else its two ends.
/// σ is that of the trace itself: a rim's holds the centre and the radius together.
std::vector<Trace> tracesOf(const adjust::Solution& solution, const Placed& feature, double turn);

}  // namespace trammel::unfold
