// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/adjust/Advice.h"
#include "core/adjust/Solution.h"

namespace trammel::app {

/// The adjusted survey for machines. Lengths in mm, angles in rad, picture coordinates in px; every
/// plus_minus is the expanded uncertainty (k = 2). Numbers that are infinite or unknown are null.
///
///     {"format": "trammel adjustment", "version": 1, "survey", "agrees",
///      "global_test": {variance_factor, degrees_of_freedom, low, high, passed},
///      "dimensions": [{id, name, quantity, objects, important, target, unit, value, plus_minus}],
///      "levels": [{id, name, height_mm, plus_minus_mm}],
///      "features": [{id, name, kind, level, point_mm, plus_minus_mm, direction, radius_mm,
///                    radius_plus_minus_mm}],
///      "photographs": [{id, name, stand_off_mm, px_per_mm}],
///      "suspects": [{object, sentence, estimated_error, w}],
///      "observations": [{object, description, residual, sigma, redundancy, test, size, probability, w,
///                        smallest_detectable, check}],
///      "notes": [sentence], "iterations", "condition_number",
///      "advice": {good_enough, helps, sentence, worst: judged,
///                 "proposals": [{reading: {quantity, objects, instrument, sigma}, same: judged,
///                                worst: judged, sentence}]}}
///
/// A proposal holds `photograph` in place of `reading` for {view, azimuth_rad, elevation_rad, camera,
/// stand_off_mm, sigma_px, marks}; judged is {dimension, plus_minus, figure}, see core/adjust/Advice.h. Where
/// nothing can be advised, `advice` is {sentence}.
/// point_mm of a corner is the point, of a hole or arc the centre, of an edge the middle of its marked part;
/// plus_minus_mm are those of x and y against the datum point (absent for edges and without a datum point).
std::string adjustmentJson(const survey::Survey& survey, const adjust::Solution& solution,
                           const Result<adjust::Advice>& advice, const std::string& surveyFile);

}  // namespace trammel::app
