// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/adjust/Alternatives.h"
#include "core/adjust/OtherSets.h"
#include "core/adjust/Round.h"

namespace trammel::adjust {

/// Finds what disagrees. One at a time the most improbable observation is set aside and the rest adjusted
/// again (Baarda's iterated data snooping; Kok 1984). Greed errs where mistakes hide one another, so then
/// - each that was set aside is tried against the rest and taken back where it agrees (best first),
/// - an exchange is made where setting aside another instead explains the data better,
/// - two that only together explain what the global test finds are set aside together,
/// - where something is off by far, whole sets are tried in place of what was set aside (OtherSets.h).
/// At the end each is compared with its alternatives (Alternatives.h).
class SuspectSearch {
  public:
    SuspectSearch(Network& network, const Options& options, const Progress* progress, Round& round)
        : n_(network),
          options_(options),
          progress_(progress),
          round_(round),
          immune_(network.owners().size(), false) {}

    /// Tests every observation at the state of the round.
    void judge();
    /// judge() first. `gross` are owners that were left out already.
    void run(const std::vector<int>& gross = {});

    bool cancelled() const { return failure_ && failure_->code == ErrorCode::Cancelled; }
    const std::optional<Error>& failure() const { return failure_; }  ///< of the last attempt
    /// What was set aside. Alternatives set aside with it are listed there only.
    const std::vector<SetAside>& aside() const { return aside_; }
    const std::vector<std::string>& notes() const { return notes_; }
    std::vector<Assessment>& assessments() { return assessments_; }  ///< at the state of the round

  private:
    bool trySolve();
    bool setAside(int owner);
    bool takeBack(std::size_t which);
    void rejectWorst();
    bool rejectPair();
    bool takeBackAgreeing();
    void goBack(const Round& round, const State& state);
    bool exchange();
    bool isGross() const;
    bool findOtherSet();
    void findAlternatives();
    void nameAlternatives(SetAside& one);
    bool heldByOthers(const SetAside& one) const;
    bool explainsAsWell(int one, const Exchange& exchange);
    void noteImmune(int owner);
    bool isAside(int owner) const;

    Network& n_;
    const Options& options_;
    const Progress* progress_;
    Round& round_;
    std::vector<bool> immune_;
    std::vector<bool> eligible_;  ///< those that are not excluded by the user
    std::vector<SetAside> aside_;
    std::vector<std::string> notes_;
    std::vector<Assessment> assessments_;
    std::optional<Error> failure_;
};

}  // namespace trammel::adjust
