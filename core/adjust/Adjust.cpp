// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Adjust.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/adjust/Covariance.h"
#include "core/adjust/FirstRound.h"
#include "core/adjust/Gather.h"
#include "core/adjust/Gross.h"
#include "core/adjust/Photographs.h"
#include "core/adjust/SuspectSearch.h"
#include "core/adjust/Suspects.h"
#include "core/math/Statistics.h"
#include "core/survey/Check.h"

namespace trammel::adjust {
namespace {

GlobalTest globalTest(const Network& n, double sum) {
    std::vector<estimate::Rows> rows;
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
    const Influence influence(n, *round.covariance);
    if (!influence.valid()) return;
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

/// One attempt. `left` are marks left out as far off: excluded in the survey, but tested and named.
Attempt adjustAll(const survey::Survey& survey, const std::vector<Id>& left, const Options& options,
                  const Progress* progress) {
    auto network = Network::compile(survey);
    if (!network) return {network.error()};
    auto round = firstRound(*network, options, progress);
    std::vector<int> gross;
    if (options.findSuspects && carriedAway(*network, round))
        leaveGross(*network, options, progress, round, gross);
    if (!round) return {round.error(), carriedAway(*network, round)};
    for (std::size_t o = 0; o < network->owners().size(); ++o)
        if (std::find(left.begin(), left.end(), network->owners()[o].object) != left.end())
            gross.push_back(static_cast<int>(o));

    Solution out;
    SuspectSearch search(*network, options, progress, *round);
    if (options.findSuspects || options.withCovariance) search.judge();
    if (options.findSuspects) search.run(gross);
    if (search.cancelled()) return {*search.failure()};
    out.notes = search.notes();
    out.iterations = round->iterations;
    out.global = globalTest(*network, round->sum);
    gatherGeometry(*network, out);
    if (options.withCovariance) {
        reportObservations(survey, *network, *round, search, out);
        out.conditionNumber = round->covariance->conditionNumber();
        const bool high = out.global.degreesOfFreedom > 0 && out.global.varianceFactor > out.global.high;
        out.covariance =
            std::make_shared<Covariance>(survey, network->state(), network->columns(), *round->covariance,
                                         high ? std::sqrt(out.global.varianceFactor) : 1.0);
        for (const survey::Dimension& d : survey.dimensions) {
            // One dimension that no mark supports yet must not keep the others from the user.
            if (auto measured = out.measure(d))
                out.dimensions.push_back(*measured);
            else
                out.notes.push_back(measured.error().sentence());
        }
    }
    noteDoubts(out);
    return {std::move(out)};
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
