// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "core/calibrate/BoardModel.h"

/// What disagrees among the corners of a calibration. Factor and weights of the problem are kept up to date;
/// a corner of weight 0 is left out.
namespace trammel::calibrate {

/// Weights between 0 and 1 (Cauchy) by the robust scale of the whitened residuals, which becomes the factor.
void reweigh(BoardProblem& problem);

/// Full weight for all corners but those beyond eight robust standard deviations, which are left out.
void setAsideGross(BoardProblem& problem);

/// At the solution: the corner of each photograph that fails its block test worst (both coordinates, α =
/// 0.001, with its redundancy) is left out. False when none fails.
bool dropCorners(BoardProblem& problem);

/// A photograph whose corners scatter three times as much as those of the median one, significantly, or half
/// of whose corners are left out.
std::optional<std::size_t> badFrame(const BoardProblem& problem);

}  // namespace trammel::calibrate
