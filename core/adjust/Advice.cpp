// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Advice.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "core/adjust/AdviceMarks.h"
#include "core/adjust/AdvicePlan.h"
#include "core/adjust/AdviceViews.h"
#include "core/adjust/AdviceWords.h"
#include "core/adjust/Covariance.h"

namespace trammel::adjust {
namespace {

std::optional<Error> fault(const AdviceOptions& o) {
    const auto bad = [](const char* what) {
        return Error{ErrorCode::BadValue, what, "advice", "enter it again"};
    };
    for (const double sigma : {o.caliperFace_mm, o.caliperHole_mm, o.caliperCorner_mm, o.acrossLevels,
                               o.depthRod_mm, o.tapeShare, o.protractor_rad})
        if (!(sigma > 0) || !std::isfinite(sigma)) return bad("an instrument's σ is not above zero");
    for (const double reach : {o.caliperReach_mm, o.jawDepth_mm, o.leastHole_mm, o.depthReach_mm})
        if (!(reach >= 0)) return bad("an instrument's reach is below zero");
    if (!(o.leastGain >= 0 && o.leastGain < 1)) return bad("the least gain is no share from 0 to 1");
    return std::nullopt;
}

/// Collects what was found into proposals, best first, at most `listed` of them.
class Proposals {
  public:
    Proposals(const survey::Survey& survey, const Goal& goal, const VecX& now)
        : survey_(survey), goal_(goal), worst_(goal.worst(now)), before_(goal.judged(worst_, now)) {}

    void add(const AdvisedReading& reading, double score, const VecX& after) {
        add(reading, readingText(survey_, reading), score, after);
    }
    void add(const AdvisedView& view, double score, const VecX& after) {
        add(view, viewText(view), score, after);
    }

    /// The best of either kind stays, whatever its place.
    std::vector<Proposal> take(std::size_t listed) {
        std::stable_sort(all_.begin(), all_.end(),
                         [](const auto& a, const auto& b) { return a.first < b.first; });
        std::vector<Proposal> out;
        bool seen[2] = {false, false};
        for (auto& [score, p] : all_) {
            bool& kind = seen[p.what.index()];
            if (out.size() < listed || !kind) out.push_back(std::move(p));
            kind = true;
        }
        return out;
    }

  private:
    void add(std::variant<AdvisedReading, AdvisedView> what, const std::string& text, double score,
             const VecX& after) {
        Proposal p;
        p.what = std::move(what);
        p.same = goal_.judged(worst_, after);
        p.worst = goal_.judged(goal_.worst(after), after);
        p.sentence = text + gainText(before_, p);
        all_.emplace_back(score, std::move(p));
    }

    const survey::Survey& survey_;
    const Goal& goal_;
    std::size_t worst_;
    Judged before_;
    std::vector<std::pair<double, Proposal>> all_;
};

/// The best readings alone and, first, the one to begin with.
struct Beginning {
    std::vector<RankedReading> ranked;
    ReadingPlan plan;
};

Beginning begin(const PossibleReadings& readings, const Goal& goal, const estimate::Planned& planned,
                const AdviceOptions& options) {
    /// Share by which a set without the best reading must be better to be preferred.
    constexpr double kPrefer = 0.01;
    Beginning b;
    const std::size_t listed = std::max<std::size_t>(options.listed, 1);
    b.ranked = bestReadings(readings, goal, planned, listed);
    if (b.ranked.empty() || options.ahead < 2) return b;
    b.plan = planReadings(readings, goal, planned, options.ahead, b.ranked.front().reading);
    const ReadingPlan free = planReadings(readings, goal, planned, options.ahead);
    if (!(free.score < (1 - kPrefer) * b.plan.score)) return b;
    b.plan = free;
    const std::size_t lead = free.readings.front();
    std::erase_if(b.ranked, [lead](const RankedReading& r) { return r.reading == lead; });
    b.ranked.insert(b.ranked.begin(), rankReading(readings, goal, planned, lead));
    return b;
}

/// The first proposal, and the best of the other kind where it helps too.
std::string whatToDo(const Advice& advice, double leastGain) {
    std::string text = advice.proposals.front().sentence;
    for (const Proposal& p : advice.proposals) {
        if (p.what.index() == advice.proposals.front().what.index()) continue;
        if (p.worst.figure < (1 - leastGain) * advice.worst.figure) text += " Or: " + p.sentence;
        break;
    }
    return text;
}

}  // namespace

Result<Advice> advise(const Solution& solution, const AdviceOptions& options) {
    if (const auto wrong = fault(options)) return *wrong;
    if (!solution.covariance)
        return Error{ErrorCode::Refused, "has no ± yet", "advice", "adjust the survey first"};
    const auto goal = Goal::of(solution);
    if (!goal) return goal.error();
    const estimate::Planned planned(solution.covariance->factor());
    const VecX now = variancesOf(*goal, planned);
    Advice advice;
    advice.worst = goal->judged(goal->worst(now), now);
    advice.goodEnough = goal->byTarget() && advice.worst.figure <= 1.0;
    if (advice.goodEnough) {
        advice.sentence = goodEnoughText(advice.worst);
        return advice;
    }
    Proposals proposals(solution.covariance->survey(), *goal, now);
    const std::size_t listed = std::max<std::size_t>(options.listed, 1);
    if (options.readings) {
        const PossibleReadings readings(solution, options);
        const Beginning beginning = begin(readings, *goal, planned, options);
        double least = INFINITY;  // the one to begin with comes before better ones
        for (const RankedReading& r : beginning.ranked) least = std::min(least, r.score);
        for (const RankedReading& r : beginning.ranked)
            proposals.add(readings.reading(r.reading), &r == &beginning.ranked.front() ? least : r.score,
                          r.variances);
        for (const std::size_t i : beginning.plan.readings) advice.plan.push_back(readings.reading(i));
        if (!advice.plan.empty())
            advice.afterPlan = goal->judged(goal->worst(beginning.plan.variances), beginning.plan.variances);
    }
    if (options.views)
        for (const RankedView& v : possibleViews(solution, *goal))
            proposals.add(v.view, v.score, v.variances);
    advice.proposals = proposals.take(listed);
    advice.helps = !advice.proposals.empty() &&
                   advice.proposals.front().worst.figure < (1 - options.leastGain) * advice.worst.figure;
    if (advice.helps) {
        advice.sentence = whatToDo(advice, options.leastGain);
        return advice;
    }
    if (!advice.plan.empty() && advice.afterPlan.figure < (1 - options.leastGain) * advice.worst.figure) {
        advice.helps = true;
        advice.sentence = readingText(solution.covariance->survey(), advice.plan.front()) +
                          planText(advice.worst, advice.afterPlan, advice.plan.size());
        return advice;
    }
    constexpr double kFiner = 0.5;
    std::optional<Judged> finer;
    if (const auto variances = withFinerMarks(solution, *goal, kFiner))
        finer = goal->judged(goal->worst(*variances), *variances);
    advice.sentence = nothingHelpsText(advice.worst, options.leastGain, finer ? &*finer : nullptr);
    return advice;
}

}  // namespace trammel::adjust
