// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/survey/Prediction.h"

namespace trammel::fit {

/// Points across which a place was measured, beside the line on which a feature is expected.
struct Miss {
    int points = 0;      ///< that lie beside the expected line, not beyond its ends
    double worst = 0.0;  ///< largest |distance|/σ, σ of prediction, `least_px` and point together
    double chance =
        1.0;  ///< that points of the feature itself miss by as much (Bonferroni over what is independent)
};

/// How far the points of a mark miss a prediction. `whole`: the line runs round. Of a corner the one point.
Miss missOf(const std::vector<survey::MarkPoint>& points, const survey::Prediction& expected,
            survey::FeatureKind kind, double least_px);

/// Whether two marks of kinds that may look alike lie on one edge of the picture, over a common stretch.
bool sameEdge(const survey::Mark& a, survey::FeatureKind kindOfA, const survey::Mark& b,
              survey::FeatureKind kindOfB);

/// Whether features of these kinds can be taken for one another: points for points, lines for lines.
bool alike(survey::FeatureKind a, survey::FeatureKind b);

}  // namespace trammel::fit
