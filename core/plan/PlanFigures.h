// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/plan/Plan.h"
#include "core/sheet/Sheet.h"

/// The figures of the plan's page; for core/plan/PlanSheet.cpp only. Each is drawn into a frame of the page
/// (mm), to the largest scale of ISO 5455 that fits, which stands in its heading.
namespace trammel::plan {

struct Frame {
    Vec2 low = Vec2::Zero(), high = Vec2::Zero();
    double width() const { return high.x() - low.x(); }
    double height() const { return high.y() - low.y(); }
};

/// Paper mm a mm of the thing, of ISO 5455: 10 … 1/500; the largest at which this extent fits into the room.
double scaleFor(const Vec2& extent_mm, const Vec2& room_mm);
std::string scaleText(double scale);  ///< "1 : 20", "2 : 1"

/// Camera at the left, part at the right. Elevation: seen from the side, the part's y upwards; else from
/// above, its x upwards.
void drawStanding(sheet::Sheet& page, const Frame& frame, const Plan& plan, bool elevation);

/// The part from the side in the zone that is sharp, as in the top view and tipped for an oblique one.
void drawZone(sheet::Sheet& page, const Frame& frame, const Plan& plan);

/// The top view's picture: part, levels, reference lengths and the border of the frame.
void drawPicture(sheet::Sheet& page, const Frame& frame, const Plan& plan);

}  // namespace trammel::plan
