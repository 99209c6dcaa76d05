// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/base/Result.h"
#include "core/survey/Survey.h"

namespace trammel::survey {

/// Everything in the survey that cannot be adjusted as it stands, each as one sentence with its object:
/// values that are not finite, σ not positive, lengths of zero, marks with too few points, ids that are
/// missing, doubled or dangling, quantities over the wrong objects and, when all that is sound, features
/// marked twice in one photograph (two parts of an edge, arc or curve may be marked apart), then features
/// marked at one place in every photograph they share (core/survey/SamePlace.h). Empty when sound. Whether an
/// outline closes is not asked here: a half-drawn outline must not stop the adjustment.
std::vector<Error> check(const Survey& survey);

}  // namespace trammel::survey
