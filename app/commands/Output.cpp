// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/Output.h"

#include <unistd.h>

#include <cstdio>
#include <utility>

#include "app/commands/Commands.h"

namespace trammel::app {

int printWhole(const std::string& text) {
    const bool written = std::fwrite(text.data(), 1, text.size(), stdout) == text.size();
    if (written && std::fflush(stdout) == 0) return kGood;
    std::clearerr(stdout);
    return complain({ErrorCode::WriteFailed, "the result could not be written out", "standard output",
                     "free some space on the disk, or send it elsewhere"});
}

ProgressLine::ProgressLine(std::string what)
    : what_(std::move(what)),
      terminal_(isatty(STDERR_FILENO) == 1),
      progress_([this](double fraction) { show(fraction); }) {}

void ProgressLine::show(double fraction) {
    const int percent = static_cast<int>(100.0 * fraction);
    if (!terminal_ || shown_.exchange(percent) == percent) return;
    std::fprintf(stderr, "\r%s %d %%\033[K", what_.c_str(), percent);
}

ProgressLine::~ProgressLine() {
    if (terminal_ && shown_ >= 0) std::fputs("\r\033[K", stderr);
}

}  // namespace trammel::app
