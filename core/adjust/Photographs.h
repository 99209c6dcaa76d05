// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/adjust/Adjust.h"

namespace trammel::adjust {

/// What an attempt to adjust a survey came to.
struct Attempt {
    Result<Solution> solution;
    bool carriedAway = false;  ///< failed with marks and readings far from fitting (Gross.h)
};

/// A photograph that is wrong as a whole, as its suspect is told; or only some of its marks, which are far
/// off.
struct GuiltyPhotograph {
    int station = 0;
    Suspect suspect;
    std::vector<Id> marks{};
};

/// Looks for one photograph that spoils the adjustment as a whole: given the wrong view, flipped, refocused,
/// or taken after the part was moved. Asked are, of an adjustment that settled, those photographs of which
/// many marks or the view were set aside, or that came out looking from the opposite side; of one that did
/// not settle, all. Guilty is the one without which the others agree, and which fits them only otherwise than
/// given (ViewDoubt.h) or not at all.
std::optional<GuiltyPhotograph> findGuiltyPhotograph(const survey::Survey& survey, const Attempt& attempt,
                                                     const Options& options, const Progress* progress);

}  // namespace trammel::adjust
