// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/Output.h"

#include <cstdio>

#include "app/commands/Commands.h"

namespace trammel::app {

int printWhole(const std::string& text) {
    const bool written = std::fwrite(text.data(), 1, text.size(), stdout) == text.size();
    if (written && std::fflush(stdout) == 0) return kGood;
    std::clearerr(stdout);
    return complain({ErrorCode::WriteFailed, "the result could not be written out", "standard output",
                     "free some space on the disk, or send it elsewhere"});
}

}  // namespace trammel::app
