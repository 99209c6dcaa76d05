// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Solution.h"
#include "core/render/Truth.h"

namespace trammel::campaign {

/// Where two neighbouring edges of an outline meet, as the drawing hands it over.
struct OutlineCorner {
    Vec2 found = Vec2::Zero(), truth = Vec2::Zero();  ///< mm
    Vec2 plusMinus = Vec2::Zero();                    ///< k = 2, in x and y
};

std::vector<OutlineCorner> outlineCorners(const survey::Survey& survey, const adjust::Solution& solution,
                                          const render::Truth& truth);

}  // namespace trammel::campaign
