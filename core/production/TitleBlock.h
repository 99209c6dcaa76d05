// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/geometry/Chain.h"
#include "core/production/Block.h"
#include "core/unfold/Arrangement.h"

namespace trammel::production {

/// Fields after ISO 7200: 180 mm wide, at the lower right corner of the drawing space.
struct TitleFields {
    std::string title, unit, revision, date, hash, scale, tolerance, paper;
    std::size_t page = 1, pages = 1;
    unfold::Method method = unfold::Method::FirstAngle;
    bool disagrees = false;  ///< a line in bold over the block: not to be made from
};

/// The block with the symbol of the arrangement and, above it, the cautions. Words too long for their field
/// are set smaller down to 1.8 mm and then cut short with an ellipsis.
Block titleBlock(const TitleFields& fields);

/// The drawing space of ISO 5457: 20 mm from the left for filing, 10 mm from the other edges.
geometry::Bounds drawingSpace(const sheet::Paper& paper);

/// Its frame, 0.7 mm, and the four centring marks.
void drawFrame(sheet::Sheet& page);

/// A4 and Letter stand, larger sheets lie (ISO 5457).
sheet::Paper laid(const sheet::Paper& paper);

}  // namespace trammel::production
