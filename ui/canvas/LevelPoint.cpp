// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/LevelPoint.h"

#include <cmath>

namespace trammel::ui {

std::optional<Vec2> pointOnLevel(const survey::Survey& survey, const adjust::Solution& solution,
                                 const survey::Id& stationId, const survey::Id& levelId, const Vec2& px) {
    const auto* station = survey::find(survey.stations, stationId);
    const auto found = solution.stations.find(stationId);
    if (!station || found == solution.stations.end()) return std::nullopt;
    double height = 0.0;
    if (levelId != survey.datum.level) {
        const auto level = solution.levels.find(levelId);
        if (level == solution.levels.end()) return std::nullopt;
        height = level->second;
    }
    const auto& crop = station->photo.crop;
    const auto ray = camera::rayDirection(found->second.constants, px + Vec2(crop.offsetX, crop.offsetY));
    if (!ray) return std::nullopt;
    const Vec3 direction = found->second.pose.R.transpose() * *ray;
    const Vec3 centre = found->second.pose.centre();
    constexpr double kGrazing = 0.02;  // about one degree: the meeting point would mean nothing
    if (std::abs(direction.z()) < kGrazing) return std::nullopt;
    const double t = (height - centre.z()) / direction.z();
    if (!(t > 0)) return std::nullopt;
    return (centre + t * direction).head<2>();
}

}  // namespace trammel::ui
