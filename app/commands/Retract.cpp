// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/Retract.h"

#include "core/adjust/Adjust.h"

namespace trammel::app {
namespace {

/// Hand marks back in place of the suspects among the fitted ones; how many.
int retractOnce(survey::Survey& fitted, const survey::Survey& byHand, std::vector<fit::Refusal>& refusals) {
    const auto solution = adjust::adjust(fitted);
    if (!solution) return 0;
    int count = 0;
    for (const adjust::Suspect& suspect : solution->suspects)
        for (survey::Mark& mark : fitted.marks) {
            const survey::Mark* hand = survey::find(byHand.marks, mark.id);
            if (mark.id != suspect.object || mark.origin != survey::MarkOrigin::Fitted || !hand ||
                hand->origin == survey::MarkOrigin::Fitted)
                continue;
            mark = *hand;
            refusals.push_back(
                {mark.id, "the edge found does not agree with the other photographs; the hand mark stays"});
            ++count;
        }
    return count;
}

}  // namespace

int retractDisagreeing(survey::Survey& fitted, const survey::Survey& byHand,
                       std::vector<fit::Refusal>& refusals) {
    // A few rounds: with the worst gone, smaller disagreements come to light.
    constexpr int kRounds = 4;
    int total = 0;
    for (int round = 0; round < kRounds; ++round) {
        const int count = retractOnce(fitted, byHand, refusals);
        total += count;
        if (count == 0) break;
    }
    return total;
}

}  // namespace trammel::app
