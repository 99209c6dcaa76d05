// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/guide/SecondLook.h"

#include <algorithm>
#include <set>

#include "core/adjust/Adjust.h"
#include "core/adjust/Predict.h"
#include "core/adjust/Retract.h"
#include "core/adjust/Solution.h"
#include "core/fit/Propose.h"

namespace trammel::guide {
namespace {

using survey::Id;
using survey::Mark;
using survey::Survey;

constexpr int kMostRounds = 3;

/// Hand marks of one photograph that may be looked for again.
std::set<Id> openMarks(const Survey& survey, const Id& station, const adjust::Solution& solution,
                       const fit::RefineOptions& options) {
    std::set<Id> out;
    for (const Mark& m : survey.marks) {
        if (m.station != station || m.excluded || m.origin != survey::MarkOrigin::Hand) continue;
        if (!options.onlyMarks.empty() && !options.onlyMarks.contains(m.id)) continue;
        const bool accused = std::any_of(solution.suspects.begin(), solution.suspects.end(),
                                         [&](const adjust::Suspect& s) { return s.object == m.id; });
        if (!accused) out.insert(m.id);
    }
    return out;
}

/// Sure offers for the open marks of one photograph, under the marks' own ids.
std::vector<Mark> sureMarks(const Survey& survey, const survey::Station& station,
                            const adjust::Solution& solution, const fit::PhotographProvider& photographs,
                            const fit::OfferOptions& options, const Progress* progress) {
    std::vector<Mark> out;
    const std::set<Id> open = openMarks(survey, station.id, solution, options.refine);
    if (open.empty()) return out;
    Survey without = survey;
    std::erase_if(without.marks, [&](const Mark& m) { return open.contains(m.id); });
    const auto offers = fit::proposeMarks(without, station.id, adjust::predict(solution, survey, station.id),
                                          photographs, options, progress);
    if (!offers) return out;
    for (const fit::Offer& offer : *offers) {
        if (offer.standing != fit::Standing::Sure) continue;
        for (const Mark& m : survey.marks) {
            if (!open.contains(m.id) || m.feature != offer.expected.feature) continue;
            Mark next = m;
            next.points = offer.mark.points;
            next.origin = survey::MarkOrigin::Fitted;
            out.push_back(next);
            break;  // a feature marked twice here: the second stays with the hand
        }
    }
    return out;
}

}  // namespace

std::vector<Id> lookAgain(Survey& survey, const Survey& byHand, const fit::PhotographProvider& photographs,
                          const fit::RefineOptions& refining, const Progress* progress) {
    std::set<Id> found, hopeless;
    for (int round = 0; round < kMostRounds; ++round) {
        const auto solution = adjust::adjust(survey);
        if (!solution) break;
        fit::OfferOptions options;
        options.refine = refining;
        options.refine.scale_px_per_mm = adjust::scalesOf(&*solution);
        std::vector<Mark> next;
        for (const survey::Station& station : survey.stations) {
            if (progress && progress->cancelled()) return {found.begin(), found.end()};
            if (station.excluded) continue;
            for (Mark& m : sureMarks(survey, station, *solution, photographs, options, progress))
                if (!hopeless.contains(m.id)) next.push_back(std::move(m));
        }
        if (next.empty()) break;
        for (Mark& m : survey.marks)
            for (const Mark& n : next)
                if (n.id == m.id) m = n, found.insert(n.id);
        for (const Id& id : adjust::retractDisagreeing(survey, byHand)) {
            found.erase(id);
            hopeless.insert(id);
        }
    }
    return {found.begin(), found.end()};
}

}  // namespace trammel::guide
