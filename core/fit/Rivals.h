// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/math/Types.h"

namespace trammel::fit {

/// An edge of the picture that may be the one that was meant, for the user to choose. A fit that is refused
/// because of rivals hands all of them out, the likeliest first; the fit is then asked for again with the
/// chosen one in its options.
struct Rival {
    std::vector<Vec2> line;  ///< px, along the stroke or round the rim; a whole rim ends where it began
    double sense = 1.0;  ///< +1: lighter on the right of the line as seen on screen, or outside the rim; −1
    bool rim = false;
    int leg = 0;  ///< of a corner: which of its two edges; else 0
};

/// "A", "B", ... by which the window and the printed sentence call a rival.
std::string letterOf(std::size_t index);

/// Where it runs and to which side it grows lighter: "(812, 400) to (990, 402), lighter above"; an arc by its
/// ends and middle, a whole rim by its first point and its distance from its middle.
std::string tell(const Rival& rival);

/// "A (812, 400) to (990, 402), lighter above; B ...".
std::string tellAll(const std::vector<Rival>& rivals);

}  // namespace trammel::fit
