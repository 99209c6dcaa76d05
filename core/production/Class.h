// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "core/production/HoleTable.h"
#include "core/standard/GeneralTolerance.h"

namespace trammel::production {

/// The class of general tolerances that the ± of all dimensions of the survey and of all holes support
/// (standard::supportedClass). Radii of arcs by table 2, angles by the shorter of their edges' marked parts
/// (three points: by the shorter leg).
std::optional<standard::ToleranceClass> classOf(const survey::Survey& survey,
                                                const adjust::Solution& solution,
                                                const std::vector<HoleRow>& holes);

}  // namespace trammel::production
