// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/base/Result.h"
#include "core/survey/Survey.h"

namespace trammel::survey {

/// Everything in the survey that cannot be adjusted as it stands, each as one sentence with its object:
/// values that are not finite, σ not positive, lengths of zero, marks with too few points, two features
/// marked at one place in every photograph, ids that are missing or doubled. Empty when sound.
std::vector<Error> check(const Survey& survey);

}  // namespace trammel::survey
