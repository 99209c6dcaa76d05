// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/drawing/Drawing.h"

namespace trammel::drawing {

/// Text height for a part of this size: the step of ISO 3098's series (1.8 to 20) next to 1/100 of it.
double textHeightFor(const geometry::Bounds& part);

/// Places all figures of a drawing whose chains, holes and text height stand: fills linePoint, textMiddle and
/// textAngle. Dimensions along x go below or above the part and those along y beside it, in rows, the shorter
/// nearer; others beside their own points; diameters and radii on leaders. No two texts overlap as long as
/// there is a free place within reach. Returns the bounds of all figures.
geometry::Bounds placeFigures(Drawing& drawing);

}  // namespace trammel::drawing
