// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/guide/HandFit.h"

#include <algorithm>
#include <set>

#include "core/adjust/Retract.h"
#include "core/guide/SecondLook.h"

namespace trammel::guide {
namespace {

using survey::Id;

/// Marks of `byHand` that were fitted in the survey as it now stands.
std::set<Id> fittedIn(const survey::Survey& survey, const survey::Survey& byHand) {
    std::set<Id> hand, fitted;
    for (const survey::Mark& m : byHand.marks)
        if (m.origin == survey::MarkOrigin::Hand) hand.insert(m.id);
    for (const survey::Mark& m : survey.marks)
        if (m.origin == survey::MarkOrigin::Fitted && hand.contains(m.id)) fitted.insert(m.id);
    return fitted;
}

}  // namespace

Result<HandFit> fitHandMarks(const survey::Survey& byHand, const fit::PhotographProvider& photographs,
                             const fit::RefineOptions& options, const Progress* progress) {
    fit::RefineResult first = fit::refine(byHand, photographs, options, progress);
    HandFit out{byHand,      std::move(first.refusals), {}, std::move(first.photographs), first.tried,
                first.fitted};
    if (const auto applied = survey::apply(out.survey, first.edit); !applied) return applied.error();
    if (progress && progress->cancelled()) return out;
    const std::set<Id> once = fittedIn(out.survey, byHand);
    (void)adjust::retractDisagreeing(out.survey, byHand);
    (void)lookAgain(out.survey, byHand, photographs, options, progress);
    // Either look may have sent marks back, so what stands in the survey is what counts.
    const std::set<Id> fitted = fittedIn(out.survey, byHand);
    std::erase_if(out.refusals, [&](const fit::Refusal& r) { return fitted.contains(r.mark); });
    for (const Id& mark : once) {
        if (fitted.contains(mark)) continue;
        out.disagreeing.push_back(mark);
        out.refusals.push_back(
            {mark, "the edge found does not agree with the other photographs; the hand mark stays"});
    }
    out.fitted = static_cast<int>(fitted.size());
    return out;
}

}  // namespace trammel::guide
