// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/base/Result.h"
#include "core/drawing/Envelope.h"
#include "core/production/HoleTable.h"
#include "core/sheet/Sheet.h"
#include "core/standard/GeneralTolerance.h"
#include "core/standard/Scale.h"
#include "core/unfold/Arrangement.h"

namespace trammel::production {

using survey::View;

/// What the user chooses, and what only the caller knows.
struct Terms {
    unfold::Method method = unfold::Method::FirstAngle;
    std::vector<View> views{View::Top, View::Left};  ///< beside the front view, which is always there
    std::optional<sheet::Paper> paper;               ///< nothing: chosen
    std::optional<standard::Scale> scale;            ///< nothing: the largest that fits
    double thickness_mm = 0.0;  ///< of outlines below which the survey has no level; 0: not known
    std::string date;           ///< of the survey, as printed; empty: not known
    std::string hash;           ///< of the survey's file, hex; the first 12 digits are printed
};

struct Production {
    std::vector<sheet::Sheet> pages;
    sheet::Paper paper = sheet::kA4;
    standard::Scale scale;
    std::vector<HoleRow> holes;
    std::optional<standard::ToleranceClass> tolerance;
    std::string remark{};  ///< what is not as it should be on the sheet, without full stop; else empty
};

/// Pages of the drawing: the first holds the views with their dimensions, the hole table and the notes
/// where they find room; what does not goes on further pages. `drawing` is of the top face and not
/// compensated for a kerf. Dimensions that the hole table gives are not repeated in a view (ISO 129-1: each
/// once); those that no view can show stand in the notes.
/// Paper is the smallest A sheet (A4 upright, others lying) on which the views fit at 1:2 or larger and no
/// value lies over another, else A0; where none is without that, the first that has room, with a remark.
/// Refused with a sentence: nothing fits, a drawing of the bottom face or one compensated, an oblique view,
/// a thickness that is no length of 0 to 1000 mm.
Result<Production> productionOf(const survey::Survey& survey, const adjust::Solution& solution,
                                const drawing::Drawing& drawing, const Terms& terms);

/// The notes of the first page: what the ± is, heights, dimensions that no view shows, what stands on what,
/// remarks.
std::vector<std::string> notesOf(const drawing::Drawing& drawing, const drawing::Envelope& envelope,
                                 const std::vector<std::string>& notShown);

}  // namespace trammel::production
