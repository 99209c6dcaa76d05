// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "core/adjust/Solution.h"

namespace trammel::ui {

/// Where the ray through a photograph's px meets a level: x, y in mm of the part's frame. Empty without an
/// adjustment of that photograph and level, or when the ray runs along the level.
std::optional<Vec2> pointOnLevel(const survey::Survey& survey, const adjust::Solution& solution,
                                 const survey::Id& station, const survey::Id& level, const Vec2& px);

}  // namespace trammel::ui
