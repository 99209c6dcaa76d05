// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <array>

#include "core/survey/Survey.h"

namespace trammel::ui {

/// One of the five steps from photographs to the drawing.
struct Step {
    QString title;  ///< "Mark the part"
    QString words;  ///< what to do now, with how much of it is done
    bool done = false;
};
inline constexpr std::size_t kSteps = 5;

/// How far a survey has come. `agreed`: adjusted as it is now, and all agrees; `handedOver`: a file was
/// written of it as it is now.
std::array<Step, kSteps> firstSteps(const survey::Survey& survey, bool agreed, bool handedOver);

/// The first that is not done; kSteps where all are.
std::size_t currentStep(const std::array<Step, kSteps>& steps);

}  // namespace trammel::ui
