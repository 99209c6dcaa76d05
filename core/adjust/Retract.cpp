// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Retract.h"

#include "core/adjust/Adjust.h"

namespace trammel::adjust {
namespace {

/// Hand marks back in place of the suspects among the fitted ones.
std::vector<survey::Id> retractOnce(survey::Survey& fitted, const survey::Survey& byHand) {
    std::vector<survey::Id> back;
    const auto solution = adjust(fitted);
    if (!solution) return back;
    for (const Suspect& suspect : solution->suspects)
        for (survey::Mark& mark : fitted.marks) {
            const survey::Mark* hand = survey::find(byHand.marks, mark.id);
            if (mark.id != suspect.object || mark.origin != survey::MarkOrigin::Fitted || !hand ||
                hand->origin == survey::MarkOrigin::Fitted)
                continue;
            mark = *hand;
            back.push_back(mark.id);
        }
    return back;
}

}  // namespace

std::vector<survey::Id> retractDisagreeing(survey::Survey& fitted, const survey::Survey& byHand) {
    // A few rounds: with the worst gone, smaller disagreements come to light.
    constexpr int kRounds = 4;
    std::vector<survey::Id> all;
    for (int round = 0; round < kRounds; ++round) {
        const auto back = retractOnce(fitted, byHand);
        if (back.empty()) break;
        all.insert(all.end(), back.begin(), back.end());
    }
    return all;
}

}  // namespace trammel::adjust
