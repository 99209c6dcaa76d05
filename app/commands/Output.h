// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

namespace trammel::app {

/// Prints all of it on standard output. kGood, or kBadInput after a sentence on standard error when it did
/// not get out whole: half a report must not pass for one.
int printWhole(const std::string& text);

}  // namespace trammel::app
