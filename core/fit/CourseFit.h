// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <functional>
#include <optional>
#include <vector>

#include "core/base/Result.h"
#include "core/fit/Course.h"
#include "core/fit/EdgeFit.h"

namespace trammel::fit {

/// The last steps that slots and free curves share. Both differ only in what a guide may look like.
struct CourseTask {
    const char* name = "curve";  ///< for refusals
    double sign = 1.0;           ///< of the step along +d
    int points = 16;             ///< wanted
    double leastStretch_px = 5.0;
    std::vector<Vec2> hand;  ///< must still agree with what was found
    bool chosen = false;     ///< the user chose the edge: the hand may lie further from it
    double handSigma_px = 2.0;
    /// The guide moved onto places of the edge (weights 1/σ²); nothing where none fits.
    std::function<std::optional<CourseGuide>(const CourseGuide&, const std::vector<Vec2>&,
                                             const std::vector<double>&)>
        refit;
    /// How the true edge may still differ from the last guide, smoothly: what the scatter is counted against.
    std::function<std::vector<std::function<double(double)>>(const CourseGuide&, int points)> shapes;
};

/// From a guide that lies within a pixel or two of the edge to points on it with their σ.
Result<Fit> fitCourse(const photo::LinearImage& image, CourseGuide guide, const CourseTask& task);

/// Refusal of a picture without pixels, and of coordinates that are not finite.
std::optional<Error> unusable(const photo::LinearImage& image, const std::vector<Vec2>& hand,
                              const char* name);

}  // namespace trammel::fit
