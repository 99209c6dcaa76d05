// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/survey/Survey.h"

namespace trammel::survey {

/// Where a feature ought to be seen in a photograph by what all others show of it: made by core/adjust,
/// looked for by core/fit.
struct Prediction {
    Id station, feature;
    /// Along the feature's image in order (a whole rim: round it, the first not repeated); σ across it, of a
    /// corner the larger of its two axes.
    std::vector<MarkPoint> points;
    /// Of the points' places across the image, px², one row a point, with all that moves them together
    /// (camera position, feature, level). Of a corner: in x and y.
    MatX covariance;
};

}  // namespace trammel::survey
