// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/drawing/Drawing.h"

/// Small bridges that hold the card together until everything else is cut.
namespace trammel::handover {

struct Tabs {
    double width_mm = 0.0;   ///< 0: none
    double every_mm = 80.0;  ///< along a chain, about (common practice, no source)
    double least_mm = 12.0;  ///< no tab on a line or arc shorter than this
};

/// Points along a closed chain with its tabs left out: open runs, or one closed one (`closed`) where the
/// chain has no room for a tab. A tab lies in the middle of its line or arc or of equal parts of it, and
/// half of every_mm or more from the ones before and after, over the beginning of the chain too. Chords stay
/// within `most` mm of arcs.
struct Runs {
    std::vector<std::vector<Vec2>> runs;
    bool closed = false;
    std::size_t tabs = 0;
};
Runs runsOf(const geometry::Chain& chain, const Tabs& tabs, double most);

/// "14 tabs of 0.6 mm are left …": what stands on the first page; empty without tabs.
std::string tabWords(const drawing::Drawing& drawing, const Tabs& tabs);

}  // namespace trammel::handover
