// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <atomic>
#include <string>

#include "core/base/Progress.h"

namespace trammel::app {

/// Prints all of it on standard output. kGood, or kBadInput after a sentence on standard error when it did
/// not get out whole: half a report must not pass for one.
int printWhole(const std::string& text);

/// How far a long work has come, in one line of a terminal that is wiped when the work ends. Nothing is shown
/// where standard error goes into a file.
class ProgressLine {
  public:
    explicit ProgressLine(std::string what);
    ~ProgressLine();
    ProgressLine(const ProgressLine&) = delete;
    ProgressLine& operator=(const ProgressLine&) = delete;
    const Progress* progress() const { return &progress_; }

  private:
    void show(double fraction);
    std::string what_;
    bool terminal_;
    std::atomic<int> shown_{-1};  ///< %; reports come from several threads
    Progress progress_;
};

}  // namespace trammel::app
