// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Adjust.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "core/adjust/Admit.h"
#include "core/adjust/Carriers.h"
#include "core/adjust/Covariance.h"
#include "core/adjust/FirstRound.h"
#include "core/adjust/Gather.h"
#include "core/adjust/Gross.h"
#include "core/adjust/LevelDoubt.h"
#include "core/adjust/LightGrowth.h"
#include "core/adjust/Limits.h"
#include "core/adjust/Photographs.h"
#include "core/adjust/SuspectSearch.h"
#include "core/adjust/Suspects.h"
#include "core/adjust/WarmStart.h"
#include "core/math/Statistics.h"
#include "core/survey/Check.h"

namespace trammel::adjust {
namespace {

GlobalTest globalTest(const Network& n, double sum) {
    std::vector<estimate::Rows>& rows = n.workspace().trial;
    n.linearise(rows, false);
    int components = 0;
    for (const estimate::Rows& row : rows) components += row.active ? row.components : 0;
    GlobalTest t;
    t.degreesOfFreedom = components - n.layout().columns;
    if (t.degreesOfFreedom > 0) {
        t.varianceFactor = sum / t.degreesOfFreedom;
        t.low = stats::chiSquareQuantile(0.025, t.degreesOfFreedom) / t.degreesOfFreedom;
        t.high = stats::chiSquareQuantile(0.975, t.degreesOfFreedom) / t.degreesOfFreedom;
    }
    t.passed = t.degreesOfFreedom <= 0 || (t.varianceFactor >= t.low && t.varianceFactor <= t.high);
    return t;
}

/// The survey's dimensions as functions of the unknowns.
std::vector<DimensionGradient> gradients(const survey::Survey& survey, const Network& n) {
    std::vector<DimensionGradient> out;
    for (const survey::Dimension& d : survey.dimensions)
        if (const auto term = resolve(survey, d.quantity, d.objects, d.id))
            out.push_back({d.id, evaluate(*term, n.state(), n.columns()).gradient});
    return out;
}

void reportObservations(const survey::Survey& survey, const Network& n, const Round& round,
                        SuspectSearch& search, Solution& out) {
    if (!round.influence || !round.influence->valid()) return;
    const Influence& influence = *round.influence;
    findReliability(influence, gradients(survey, n), search.assessments());
    for (const Assessment& a : search.assessments())
        if (!a.result.object.empty()) out.observations.push_back(a.result);
    out.suspects = nameSuspects(influence, search.assessments(), search.aside());
    std::size_t count = 0;
    for (const SetAside& s : search.aside()) count += 1 + (s.bothAside ? s.alternatives.size() : 0);
    if (count > 0)
        out.notes.push_back(fmt::format("{} observation{} set aside: the dimensions stand without {}.", count,
                                        count == 1 ? " is" : "s are", count == 1 ? "it" : "them"));
}

void noteDoubts(Solution& out) {
    const GlobalTest& t = out.global;
    if (t.degreesOfFreedom <= 0)
        out.notes.push_back(
            "Nothing is measured twice: no error could be noticed, and the ± rests on the σ alone.");
    else if (!t.passed && t.varianceFactor > t.high)
        out.notes.push_back(
            fmt::format("The residuals are {:.2f} times as large as their σ promise; every ± is "
                        "widened by as much.",
                        std::sqrt(t.varianceFactor)));
    else if (!t.passed)
        out.notes.push_back(
            fmt::format("The residuals are only {:.2f} of what their σ allow: the σ may be stated "
                        "too large.",
                        std::sqrt(t.varianceFactor)));
}

void measureDimensions(const Network& n, const Round& round, Solution& out) {
    const Influence influence(n, *round.covariance);
    for (const survey::Dimension& d : n.survey().dimensions) {
        // One dimension that no mark supports yet must not keep the others from the user.
        auto measured = out.measure(d);
        if (!measured) {
            out.notes.push_back(measured.error().sentence());
            continue;
        }
        const auto term = resolve(n.survey(), d.quantity, d.objects, d.id);
        measured->carriers = carriers(influence, evaluate(*term, n.state(), n.columns()).gradient);
        out.dimensions.push_back(std::move(*measured));
    }
}

/// From the first round on, with some owners set aside in it beforehand.
Result<Solution> finish(Network& n, Round& round, const Options& options, const Progress* progress,
                        const std::vector<int>& aside) {
    const survey::Survey& survey = n.survey();
    Solution out;
    SuspectSearch search(n, options, progress, round);
    if (options.findSuspects || options.withCovariance) search.judge();
    if (options.findSuspects) search.run(aside);
    if (search.cancelled()) return *search.failure();
    out.notes = search.notes();
    out.iterations = round.iterations;
    out.global = globalTest(n, round.sum);
    gatherGeometry(n, out);
    if (options.withCovariance) {
        reportObservations(survey, n, round, search, out);
        for (const SetAside& one : search.aside()) {
            out.setAside.push_back(ownerKey(n.owners()[at(one.owner)]));
            for (const auto& a : one.alternatives)
                if (one.bothAside) out.setAside.push_back(ownerKey(n.owners()[at(a.owner)]));
        }
        out.conditionNumber = round.covariance->conditionNumber();
        const bool high = out.global.degreesOfFreedom > 0 && out.global.varianceFactor > out.global.high;
        out.covariance = std::make_shared<Covariance>(survey, n.state(), n.columns(), *round.covariance,
                                                      high ? std::sqrt(out.global.varianceFactor) : 1.0);
        measureDimensions(n, round, out);
        const double inflation = high ? std::sqrt(out.global.varianceFactor) : 1.0;
        out.levelShapes = levelShapes(n, *round.covariance, inflation);
        out.lightGrowths = lightGrowths(n, *round.covariance, inflation);
        out.limits = limits(n, *round.covariance, out.observations, out.lightGrowths, inflation);
    }
    noteDoubts(out);
    return out;
}

/// Starting near by may end beside the true minimum, and where it is not plain what to set aside the order of
/// the search can matter: then only the way from the marks alone counts.
bool isTrustworthy(const Solution& found, const Solution& previous, const Options& options) {
    const auto high = [](const GlobalTest& t) { return t.degreesOfFreedom > 0 && t.varianceFactor > t.high; };
    if (high(found.global) &&
        !(high(previous.global) && found.global.varianceFactor < 1.2 * previous.global.varianceFactor))
        return false;
    return static_cast<int>(found.setAside.size()) < options.mostSuspects;
}

bool plain(const Solution& s) {
    return std::all_of(s.suspects.begin(), s.suspects.end(),
                       [](const Suspect& one) { return one.alternatives.empty(); });
}

/// From start values near the minimum, with some owners set aside beforehand.
Result<Solution> adjustNear(Network& n, const Options& options, const Progress* progress,
                            const std::vector<int>& aside) {
    for (const int o : aside) n.owners()[at(o)].active = false;
    const std::vector<int> conditions = holdBackConditions(n);
    auto round = solveRound(n, options, progress, nullptr, true);
    if (!round) return round.error();
    std::vector<int> out = aside;
    round = admitConditions(n, std::move(*round), conditions, options, progress, out);
    if (!round) return round.error();
    return finish(n, *round, options, progress, out);
}

/// With the values of the earlier solution as the start; nothing where they do not serve.
std::optional<Result<Solution>> adjustWarm(const survey::Survey& survey, const Options& options,
                                           const Progress* progress) {
    auto network = Network::compile(survey);
    if (!network || !warmStart(*network, *options.previous)) return std::nullopt;
    std::vector<int> aside;
    if (options.findSuspects) aside = setAsideBefore(*network, *options.previous);
    auto found = adjustNear(*network, options, progress, aside);
    if (found && !aside.empty() && !plain(*found)) {  // which of them comes first is a matter of order
        network = Network::compile(survey);
        if (!warmStart(*network, *found)) return std::nullopt;
        found = adjustNear(*network, options, progress, {});
    }
    if (!found && found.error().code != ErrorCode::Cancelled) return std::nullopt;
    if (found && !isTrustworthy(*found, *options.previous, options)) return std::nullopt;
    return found;
}

/// One attempt. `left` are marks left out as far off: excluded in the survey, but tested and named.
Attempt adjustAll(const survey::Survey& survey, const std::vector<Id>& left, const Options& options,
                  const Progress* progress) {
    if (options.previous && left.empty())
        if (auto warm = adjustWarm(survey, options, progress)) return {std::move(*warm)};
    auto network = Network::compile(survey);
    if (!network) return {network.error()};
    const std::vector<int> conditions = holdBackConditions(*network);
    auto round = firstRound(*network, options, progress);
    std::vector<int> gross;
    if (!round && round.error().code == ErrorCode::RankDefect && !conditions.empty()) {
        // They hold what nothing else does: then they must be believed.
        for (const int c : conditions) network->owners()[at(c)].active = true;
        round = firstRound(*network, options, progress);
        if (!round) return {round.error(), carriedAway(*network, round)};
        return {finish(*network, *round, options, progress, gross)};
    }
    if (options.findSuspects && carriedAway(*network, round))
        leaveGross(*network, options, progress, round, gross);
    if (!round) return {round.error(), carriedAway(*network, round)};
    for (std::size_t o = 0; o < network->owners().size(); ++o)
        if (std::find(left.begin(), left.end(), network->owners()[o].object) != left.end())
            gross.push_back(static_cast<int>(o));
    round = admitConditions(*network, std::move(*round), conditions, options, progress, gross);
    if (!round) return {round.error()};
    return {finish(*network, *round, options, progress, gross)};
}

}  // namespace

Result<Solution> adjust(const survey::Survey& survey, const Options& options, const Progress* progress) {
    if (const auto faults = survey::check(survey); !faults.empty()) return faults.front();
    Attempt attempt = adjustAll(survey, {}, options, progress);
    if (!options.findSuspects || !options.withCovariance) return attempt.solution;
    constexpr int kMostPhotographs = 2;
    survey::Survey kept = survey;
    std::vector<Suspect> photographs;
    std::vector<Id> left;
    for (int i = 0; i < kMostPhotographs; ++i) {
        const auto guilty = findGuiltyPhotograph(kept, attempt, options, progress);
        if (!guilty) break;
        survey::Survey without = kept;
        without.stations[at(guilty->station)].excluded = guilty->marks.empty();
        std::vector<Id> more = left;
        for (survey::Mark& m : without.marks)
            if (std::find(guilty->marks.begin(), guilty->marks.end(), m.id) != guilty->marks.end()) {
                m.excluded = true;
                more.push_back(m.id);
            }
        Attempt next = adjustAll(without, more, options, progress);
        if (!next.solution) break;
        kept = std::move(without);
        attempt = std::move(next);
        left = std::move(more);
        if (guilty->marks.empty()) photographs.push_back(guilty->suspect);
    }
    if (attempt.solution)
        attempt.solution->suspects.insert(attempt.solution->suspects.begin(), photographs.begin(),
                                          photographs.end());
    return attempt.solution;
}

}  // namespace trammel::adjust
