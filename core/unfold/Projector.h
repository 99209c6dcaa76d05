// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/unfold/Trace.h"

namespace trammel::unfold {

/// The line that carries a trace from one view into a neighbouring one: straight where both show the axis in
/// line (top and front share x, front and side share z), by the 45° mitre line between plan and side (y).
struct Projector {
    View from = View::Front, to = View::Front;
    Trace trace;
    std::vector<Vec2>
        path;  ///< on the sheet, from the feature, through its place in `to`, to the frame's end
    Vec2 place = Vec2::Zero();    ///< of the feature in `to`
    Vec2 across = Vec2::UnitX();  ///< of the line where it meets `to`: the ± extends this way
};

/// All projectors of these traces from a view on the sheet.
std::vector<Projector> projectors(const Arrangement& arrangement, const std::vector<Trace>& traces,
                                  View from);

}  // namespace trammel::unfold
