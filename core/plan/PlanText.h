// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/plan/Plan.h"

namespace trammel::plan {

/// "2.70 m" or "480 mm": as a person sets it.
std::string lengthText(double mm);
/// "± 0.06 mm": two digits that count, never finer than a micrometre.
std::string toleranceText(double mm);

/// "200 mm", "85–135 mm at 107 mm": the lens as it is used.
std::string lensText(const Plan& plan);

/// Whether the wanted ± is reached, by what, or what it comes to instead.
std::string verdict(const Plan& plan);
/// What to do at the bench, in order; one sentence or two each.
std::vector<std::string> steps(const Plan& plan);
/// What can hurt people or the part meanwhile.
std::vector<std::string> cautions(const Plan& plan);

/// The whole plan for a terminal.
std::string planText(const Plan& plan);

/// The same for machines: lengths in mm, every plus_minus with k = 2.
///
///     {"format": "trammel plan", "version": 1, "reachable", "verdict",
///      "set_up": {lens, focal_mm, stand_off_mm, f_number, focus_mm, sharp_near_mm, sharp_far_mm, pixel_mm,
///                 magnification, blur_px, airy_px, uncorrected_mm} or null,
///      "views": [name], "expected": expected, "lenses", "sets", "reference_lengths", "squaring",
///      "squaring_without_obliques", "help": [{name, chosen, meets, reason} or with "expected"],
///      "steps": [sentence], "cautions": [sentence]}
///
/// expected: {plan_plus_minus_mm, plan_typical_mm, worst, height_plus_minus_mm, photographs, unseen}.
std::string planJson(const Plan& plan);

}  // namespace trammel::plan
