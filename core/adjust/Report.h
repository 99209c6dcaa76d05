// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/adjust/Solution.h"

namespace trammel::adjust {

/// The report for people: dimensions with ±, levels, suspects, global test, notes.
std::string reportText(const survey::Survey& survey, const Solution& solution);

/// True when nothing disagrees: global test passed, no suspects, every check dimension within its ±.
bool agrees(const Solution& solution);

}  // namespace trammel::adjust
