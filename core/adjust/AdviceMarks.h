// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "core/adjust/AdviceGoal.h"

namespace trammel::adjust {

/// Variances of the goal's dimensions were every mark's σ multiplied by `factor` (0 < factor), all else as it
/// is: what fitting the marks, or photographs with finer pixels, would be worth. Nothing where it cannot be
/// told.
std::optional<VecX> withFinerMarks(const Solution& solution, const Goal& goal, double factor);

}  // namespace trammel::adjust
