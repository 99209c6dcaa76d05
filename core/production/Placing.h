// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/production/HoleTable.h"
#include "core/production/Lines.h"
#include "core/production/Views.h"
#include "core/unfold/Arrangement.h"

/// Views with their dimensions, before a scale is chosen and at one.
namespace trammel::production {

/// One view: its lines and the figures that it is to show, in its own axes.
struct Seen {
    View view = View::Front;
    std::vector<ViewLine> lines;
    drawing::Drawing figures;  ///< only chains, holes, figures and `part` are of use
};

struct Views {
    std::vector<Seen> seen;
    std::vector<std::string> notShown;  ///< "name: value ±", of dimensions that no view shows
    unfold::Box box;
};

/// Lines and figures of these views. The plan (the top view, else the bottom view) gets the drawing's figures
/// without those that the hole table has, and a letter at each hole; the front view gets heights and depths.
Views viewsOf(const survey::Survey& survey, const adjust::Solution& solution, const drawing::Drawing& drawing,
              const Shape& shape, const std::vector<HoleRow>& holes, const std::vector<View>& views);

/// A view placed on paper, mm from the lower left corner of all views together.
struct PlacedView {
    const Seen* seen = nullptr;
    std::vector<drawing::Figure> figures;
    Vec2 origin = Vec2::Zero();  ///< where the view's (0, 0) lies
    geometry::Bounds room;       ///< with its figures
};

struct PlacedViews {
    std::vector<PlacedView> views;
    Vec2 size = Vec2::Zero();
};

/// All views at a scale as ISO 5456-2 arranges them, so far apart that their figures do not meet.
PlacedViews placedAt(const Views& views, unfold::Method method, double scale, double text_mm);

/// No value lies over another one.
bool legible(const PlacedViews& views, double scale, double text_mm);

}  // namespace trammel::production
