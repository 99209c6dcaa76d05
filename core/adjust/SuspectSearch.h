// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/adjust/Assess.h"
#include "core/adjust/Round.h"

namespace trammel::adjust {

/// Sets aside the worst disagreement, adjusts again, and so on; at the end takes back what then agrees.
class SuspectSearch {
  public:
    SuspectSearch(Network& network, const Options& options, const Progress* progress, Round& round)
        : n_(network), options_(options), progress_(progress), round_(round) {}

    /// Tests every observation at the state of the round.
    void judge();
    /// judge() first.
    void run();

    bool cancelled() const { return failure_ && failure_->code == ErrorCode::Cancelled; }
    const std::optional<Error>& failure() const { return failure_; }  ///< of the last attempt
    const std::vector<int>& aside() const { return aside_; }
    const std::vector<std::string>& notes() const { return notes_; }
    const std::vector<Assessment>& assessments() const {
        return assessments_;
    }  ///< at the state of the round

  private:
    bool trySolve();
    void takeBack();

    Network& n_;
    const Options& options_;
    const Progress* progress_;
    Round& round_;
    std::vector<int> aside_;
    std::vector<std::string> notes_;
    std::vector<Assessment> assessments_;
    std::optional<Error> failure_;
};

}  // namespace trammel::adjust
