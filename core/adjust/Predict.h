// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Solution.h"
#include "core/survey/Prediction.h"

namespace trammel::adjust {

/// Predicts the image of each adjusted feature in this photograph, marked there or not, with its covariance:
/// that of feature and camera position together, widened when the global test failed high.
///
/// Left out is what cannot be seen there: behind the camera or outside the frame; an edge end on, a rim or an
/// edge whose level is seen edge on (all that lies in such a level folds into one line); and what looks away:
/// a feature can be seen from where the camera looks within 60° of a photograph that shows it. What stands
/// before it is not known here.
///
/// Empty when the solution does not hold the photograph or has no covariance.
std::vector<survey::Prediction> predict(const Solution& solution, const survey::Survey& survey,
                                        const Id& station);

}  // namespace trammel::adjust
