// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Propose.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "core/fit/Landing.h"

namespace trammel::fit {
namespace {

using survey::FeatureKind;
using survey::Id;
using survey::Mark;
using survey::Prediction;
using survey::Survey;

constexpr std::size_t kManyOffers = 12;  ///< that tell by themselves how sharp an edge of their photograph is

FeatureKind kindOf(const Survey& survey, const Id& feature) {
    const survey::Feature* f = survey::find(survey.features, feature);
    return f ? f->kind : FeatureKind::Corner;
}

Id trialId(const Id& feature) { return "offer of " + feature; }

double largestSigma(const std::vector<survey::MarkPoint>& points) {
    double sigma = 0.0;
    for (const auto& point : points) sigma = std::max(sigma, point.sigma_px);
    return sigma;
}

/// The prediction as a hand that errs as much would have marked it. Its points err together: of a rim's n
/// points, σ is stated √(n/2) times as large, so that a common shift weighs as two clicks' would.
Mark trialMark(const Prediction& p, FeatureKind kind, const OfferOptions& o) {
    Mark m;
    m.id = trialId(p.feature);
    m.station = p.station;
    m.feature = p.feature;
    m.points = p.points;
    double sigma = std::hypot(largestSigma(p.points), o.leastDoubt_px);
    if (kind != FeatureKind::Corner && kind != FeatureKind::Edge)
        sigma *= std::sqrt(0.5 * static_cast<double>(p.points.size()));
    for (auto& point : m.points) point.sigma_px = sigma;
    return m;
}

/// The survey as far as this photograph goes, with the trial marks in it.
Survey trialSurvey(const Survey& survey, const Id& station) {
    Survey trial = survey;
    std::erase_if(trial.marks, [&](const Mark& m) { return m.station != station; });
    std::erase_if(trial.stations, [&](const survey::Station& s) { return s.id != station; });
    return trial;
}

bool isMarked(const Survey& survey, const Id& station, const Id& feature) {
    return std::any_of(survey.marks.begin(), survey.marks.end(),
                       [&](const Mark& m) { return m.station == station && m.feature == feature; });
}

/// Whether the survey has another feature marked in this photograph beside the edge that was found.
bool markedElsewhere(const Survey& survey, const Mark& found, FeatureKind kind, const Id& feature,
                     FeatureKind kindOfFeature) {
    return std::any_of(survey.marks.begin(), survey.marks.end(), [&](const Mark& m) {
        return m.station == found.station && m.feature == feature && !m.excluded &&
               !sameEdge(found, kind, m, kindOfFeature);
    });
}

void doubt(Offer& offer, std::string why) {
    offer.standing = Standing::Unsure;
    if (offer.why.empty()) offer.why = std::move(why);
}

/// Puts what the fit made of each trial mark into its offer.
void takeResults(const RefineResult& result, std::vector<Offer>& offers) {
    std::map<Id, Offer*> by;
    for (Offer& o : offers) by[trialId(o.expected.feature)] = &o;
    for (const auto& change : result.edit.changes)
        if (const auto* put = std::get_if<survey::Put<Mark>>(&change))
            if (const auto it = by.find(put->object.id); it != by.end()) {
                it->second->mark = put->object;
                it->second->mark.id.clear();
                it->second->standing = Standing::Sure;
            }
    for (const Refusal& r : result.refusals)
        if (const auto it = by.find(r.mark); it != by.end()) {
            it->second->why = r.why;
            it->second->rivals = r.rivals;
            if (!r.rivals.empty()) it->second->standing = Standing::Unsure;
        }
}

/// Holds each found place against its own prediction and those of all other features.
void holdAgainst(const Survey& survey, const std::vector<Prediction>& predictions, const OfferOptions& o,
                 std::vector<Offer>& offers) {
    std::map<Id, const Offer*> by;
    for (const Offer& offer : offers) by[offer.expected.feature] = &offer;
    for (Offer& offer : offers) {
        if (offer.mark.points.empty()) continue;
        const FeatureKind kind = kindOf(survey, offer.expected.feature);
        const Miss own = missOf(offer.mark.points, offer.expected, kind, o.leastMiss_px);
        offer.chance = own.chance;
        if (own.points == 0 || own.chance < o.leastChance)
            doubt(offer, fmt::format("the edge found misses the expected place by {:.1f} times its doubt; "
                                     "look whether it is the one meant.",
                                     own.worst));
        const double sigma = largestSigma(offer.mark.points);
        if (sigma > o.mostSigma_px)
            doubt(offer, fmt::format("the edge found there is not a clear one (σ {:.1f} px).", sigma));
        if (const double expected = largestSigma(offer.expected.points); expected > o.sureDoubt_px)
            doubt(offer,
                  fmt::format("its place is known to ± {:.0f} px only; look whether it is the edge meant.",
                              2.0 * expected));
        for (const Prediction& p : predictions) {
            const FeatureKind other = kindOf(survey, p.feature);
            if (p.feature == offer.expected.feature || !alike(kind, other)) continue;
            const Miss miss = missOf(offer.mark.points, p, other, o.leastDoubt_px);
            if (miss.points == 0 || (kind != FeatureKind::Corner && miss.points < 2)) continue;
            if (miss.chance < o.leastChance) continue;
            // It may be the other's. Not where that has been found elsewhere as well as expected.
            const auto found = by.find(p.feature);
            if (found != by.end() && !found->second->mark.points.empty() &&
                !sameEdge(offer.mark, kind, found->second->mark, other) &&
                missOf(found->second->mark.points, p, other, o.leastDoubt_px).chance >= o.leastChance)
                continue;
            if (markedElsewhere(survey, offer.mark, kind, p.feature, other)) continue;
            offer.others.push_back(p.feature);
        }
    }
}

void nameOthers(const Survey& survey, std::vector<Offer>& offers) {
    for (std::size_t i = 0; i < offers.size(); ++i)
        for (std::size_t j = 0; j < offers.size(); ++j) {
            Offer &a = offers[i], &b = offers[j];
            if (i == j || a.mark.points.empty() || b.mark.points.empty()) continue;
            if (!sameEdge(a.mark, kindOf(survey, a.expected.feature), b.mark,
                          kindOf(survey, b.expected.feature)))
                continue;
            if (std::find(a.others.begin(), a.others.end(), b.expected.feature) == a.others.end())
                a.others.push_back(b.expected.feature);
        }
    for (Offer& offer : offers) {
        if (offer.others.empty()) continue;
        std::string names;
        for (const Id& id : offer.others) names += (names.empty() ? "" : ", ") + survey::describe(survey, id);
        doubt(offer, fmt::format("the edge found may be that of {} instead.", names));
    }
}

}  // namespace

Result<std::vector<Offer>> proposeMarks(const Survey& survey, const Id& station,
                                        const std::vector<Prediction>& predictions,
                                        const PhotographProvider& photographs, const OfferOptions& options,
                                        const Progress* progress) {
    std::vector<Offer> offers;
    Survey trial = trialSurvey(survey, station);
    RefineOptions refining = options.refine;
    refining.onlyMarks.clear();
    for (const Prediction& p : predictions) {
        if (p.station != station || p.points.empty() || isMarked(survey, station, p.feature)) continue;
        Offer offer;
        offer.expected = p;
        const double sigma = largestSigma(p.points);
        if (!(sigma <= options.mostDoubt_px)) {
            offer.why = fmt::format(
                "its place is known to ± {:.0f} px only; mark more features of this "
                "photograph and adjust.",
                2.0 * sigma);
        } else {
            const Mark mark = trialMark(p, kindOf(survey, p.feature), options);
            refining.onlyMarks.insert(mark.id);
            trial.marks.push_back(mark);
        }
        offers.push_back(std::move(offer));
    }
    if (refining.onlyMarks.empty()) return offers;
    refining.mostOthers = kManyOffers - std::min(kManyOffers, refining.onlyMarks.size());
    const RefineResult result = refine(trial, photographs, refining, progress);
    if (progress && progress->cancelled())
        return Error{ErrorCode::Cancelled, "the offering of marks was stopped; nothing has changed", "", ""};
    if (!result.photographs.empty()) return result.photographs.front();
    takeResults(result, offers);
    holdAgainst(survey, predictions, options, offers);
    nameOthers(survey, offers);
    return offers;
}

Result<Mark> takeRival(const Survey& survey, const Offer& offer, const Rival& chosen,
                       const PhotographProvider& photographs, const OfferOptions& options) {
    Survey trial = trialSurvey(survey, offer.expected.station);
    const Mark mark = trialMark(offer.expected, kindOf(survey, offer.expected.feature), options);
    trial.marks.push_back(mark);
    RefineOptions refining = options.refine;
    refining.onlyMarks = {mark.id};
    refining.mostOthers = kManyOffers - 1;
    refining.chosen[mark.id][static_cast<std::size_t>(chosen.leg)] = chosen;
    const RefineResult result = refine(trial, photographs, refining);
    if (!result.photographs.empty()) return result.photographs.front();
    for (const auto& change : result.edit.changes)
        if (const auto* put = std::get_if<survey::Put<Mark>>(&change); put && put->object.id == mark.id) {
            Mark out = put->object;
            out.id.clear();
            return out;
        }
    return Error{ErrorCode::Refused,
                 result.refusals.empty() ? "no edge was found" : result.refusals.front().why,
                 survey::describe(survey, offer.expected.feature), ""};
}

}  // namespace trammel::fit
