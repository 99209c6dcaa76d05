// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/adjust/Advice.h"

/// Advice in plain sentences.
namespace trammel::adjust {

/// "± 0.21 mm", "± 0.040 mm", "± 0.150°".
std::string plusMinusText(survey::Quantity quantity, double plusMinus);

/// "Measure the distance from hole H1 to edge E3 with the caliper (to ± 0.06 mm)".
std::string readingText(const survey::Survey& survey, const AdvisedReading& reading);
/// "Take one more photograph from the front-left, 30° above the part's plane".
std::string viewText(const AdvisedView& view);

/// ": the worst dimension, board width, goes from ± 0.21 mm to ± 0.09 mm" and what is the worst then.
std::string gainText(const Judged& before, const Proposal& proposal);

/// ": alone it changes little, but with 1 more reading the worst dimension, board width, goes from ± 0.21 mm
/// to ± 0.09 mm."
std::string planText(const Judged& before, const Judged& after, std::size_t readings);

std::string goodEnoughText(const Judged& worst);
/// Nothing helps; `finer` is the worst dimension with marks of half their σ, null where that is not known.
std::string nothingHelpsText(const Judged& worst, double leastGain, const Judged* finer);

}  // namespace trammel::adjust
