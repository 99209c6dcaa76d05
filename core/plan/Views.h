// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/survey/View.h"

namespace trammel::plan {

/// A photograph that a plan may ask for. The part is turned and the camera stays, or the other way round.
struct PlannedView {
    std::string
        name;  ///< "top", "front", "oblique front": tipped so that the camera looks from the front too
    survey::View view = survey::View::Top;
    double azimuth = 0.0;  ///< oblique ones: side from which, rad from +x
    double roll = 0.0;     ///< about the axis, so that the part's x runs along the picture's width
};

inline constexpr double kOblique_deg = 30.0;  ///< off the top view; 25 to 35 do as well

/// Every view that is considered.
const std::vector<PlannedView>& plannedViews();

/// Names of views that are taken together. Ordered by the number of photographs, then by effort.
const std::vector<std::vector<std::string>>& viewSets();

/// "top, front, right".
std::string joined(const std::vector<std::string>& names);

}  // namespace trammel::plan
