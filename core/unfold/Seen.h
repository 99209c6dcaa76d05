// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/unfold/Placed.h"

namespace trammel::unfold {

/// A mark brought onto the sheet: where its ray meets the feature's own depth in the view, beside where the
/// adjustment puts the feature. The difference is the residual, in mm of the part.
struct Seen {
    Id mark, station;
    std::vector<Vec2> at;  ///< as marked, on the sheet
    std::vector<Vec2>
        adjusted;  ///< of each: the nearest place of the feature (an edge goes on past its marks)
    bool excluded = false;
};

/// The marks of a feature in the photograph of a view. Empty where the photograph is not adjusted.
std::vector<Seen> seenOn(const Arrangement& arrangement, const survey::Survey& survey,
                         const adjust::Solution& solution, const Placed& feature, View view,
                         const Id& station);

/// Where the ray of a photograph's px meets a depth of the view, on the sheet. Nothing where it runs along it
/// (within a degree), or away.
std::optional<Vec2> ontoSheet(const Arrangement& arrangement, View view, double depth,
                              const adjust::StationResult& station, const Vec2& px);

/// The photograph px that shows a point of the part; nothing behind the camera.
std::optional<Vec2> intoPhotograph(const adjust::StationResult& station, const Vec3& part);

}  // namespace trammel::unfold
