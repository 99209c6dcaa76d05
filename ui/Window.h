// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

namespace trammel::ui {

/// Runs the desktop window until it is closed; opens `surveyPath` first unless it is empty (a survey that
/// cannot be read becomes a notice in the window). Returns the process' exit code.
int runWindow(int argc, char** argv, const std::string& surveyPath);

}  // namespace trammel::ui
