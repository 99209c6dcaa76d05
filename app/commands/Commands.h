// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <CLI/App.hpp>
#include <optional>
#include <string>

#include "core/base/Error.h"

namespace trammel::app {

/// Exit codes of every batch command.
enum Exit : int {
    kGood = 0,
    kDisagrees = 1,  ///< suspects found, a check dimension missed, or a wanted ± out of reach
    kBadInput = 2,   ///< one sentence on standard error
};

/// Each adds one sub-command; its callback leaves its exit code in `code`.
void addAdjust(CLI::App& app, int& code);
void addHandover(CLI::App& app, int& code);
void addInspect(CLI::App& app, int& code);
void addRender(CLI::App& app, int& code);
void addFit(CLI::App& app, int& code);
void addPhotographs(CLI::App& app, int& code);
void addCalibrate(CLI::App& app, int& code);
void addPlan(CLI::App& app, int& code);
void addBoard(CLI::App& app, int& code);
void addLenses(CLI::App& app, int& code);
void addDrawing(CLI::App& app, int& code);
void addMount(CLI::App& app, int& code);
void addRules(CLI::App& app, int& code);
void addSolid(CLI::App& app, int& code);      ///< of the program trammel-solid (app/SolidMain.cpp)
void addSolidHand(CLI::App& app, int& code);  ///< starts that program

/// Parses the command line and runs the command it names. Its exit code where it ends here: after a help
/// text, and after one sentence on a word that is none or a work that stopped; `help` is the command that
/// lists them.
std::optional<int> parse(CLI::App& app, int argc, char** argv, const std::string& help);

/// Prints the error's sentence on standard error and returns kBadInput.
int complain(const Error& error);

}  // namespace trammel::app
