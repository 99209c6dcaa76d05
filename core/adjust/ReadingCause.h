// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/adjust/Solution.h"

namespace trammel::adjust {

/// What was probably meant by a reading that disagrees.
struct ReadingGuess {
    Cause cause = Cause::Unknown;
    double value = 0.0;  ///< in the unit typed (mm, degrees)
    std::string why;     ///< "digits exchanged?", "typed in inches?"
};

/// Looks for one slip that turns the value typed into what everything else expects, within its ± (k = 2):
/// inches for millimetres or twice converted, the decimal point, radius for diameter, two neighbouring digits
/// exchanged, and last one digit wrong, missing or doubled. A slip is named only when it is the only one of
/// its kind that fits, and when so many digits can be wrong that one of them fits by chance more often than
/// one time in five, none is. Values have the six significant digits that a person types. All in the unit
/// typed.
ReadingGuess guessReading(survey::Quantity quantity, double typed, double expected, double sigma);

}  // namespace trammel::adjust
