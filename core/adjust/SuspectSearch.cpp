// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/SuspectSearch.h"

#include <cmath>

#include "core/adjust/Suspects.h"

namespace trammel::adjust {

bool SuspectSearch::trySolve() {
    const State before = n_.state();
    auto next = solveRound(n_, options_, progress_);
    failure_.reset();
    if (!next) {
        failure_ = next.error();
        n_.state() = before;
        n_.forgetFeet();
        return false;
    }
    next->iterations += round_.iterations;
    round_ = *next;
    judge();
    return true;
}

void SuspectSearch::judge() { assessments_ = assess(n_, *round_.covariance); }

void SuspectSearch::run() {
    std::vector<bool> immune(n_.owners().size(), false);
    while (static_cast<int>(aside_.size()) < options_.mostSuspects) {
        const int worst = worstDisagreement(n_, assessments_, options_.suspectProbability, immune);
        if (worst < 0) break;
        const auto w = static_cast<std::size_t>(worst);
        n_.owners()[w].active = false;
        if (trySolve()) {
            aside_.push_back(worst);
            continue;
        }
        n_.owners()[w].active = true;
        if (cancelled()) return;
        immune[w] = true;
        const bool loose = failure_->code == ErrorCode::RankDefect;  // nothing else holds what it holds
        notes_.push_back("The " + n_.owners()[w].description + " disagrees, but " +
                         (loose ? "without it something is left undetermined: observe it once more."
                                : "the adjustment does not settle without it: look at it first."));
    }
    takeBack();
}

void SuspectSearch::takeBack() {
    const double least = std::log(options_.suspectProbability);
    for (std::size_t i = 0; i < aside_.size();) {
        const auto o = static_cast<std::size_t>(aside_[i]);
        if (assessments_[o].logProbability < least) {
            ++i;
            continue;
        }
        n_.owners()[o].active = true;
        if (trySolve()) {
            aside_.erase(aside_.begin() + static_cast<std::ptrdiff_t>(i));
        } else {
            n_.owners()[o].active = false;
            if (cancelled()) return;
            ++i;
        }
    }
}

}  // namespace trammel::adjust
