// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Adjust.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/adjust/Covariance.h"
#include "core/adjust/Gather.h"
#include "core/adjust/Start.h"
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

void reportSuspects(const Network& n, const std::vector<Assessment>& assessments, std::vector<int> aside,
                    Solution& out) {
    std::sort(aside.begin(), aside.end(), [&](int a, int b) {
        return assessments[static_cast<std::size_t>(a)].logProbability <
               assessments[static_cast<std::size_t>(b)].logProbability;
    });
    for (const int o : aside) out.suspects.push_back(accuse(n, o, assessments[static_cast<std::size_t>(o)]));
    if (!aside.empty())
        out.notes.push_back(fmt::format("{} observation{} set aside: the dimensions stand without {}.",
                                        aside.size(), aside.size() == 1 ? " is" : "s are",
                                        aside.size() == 1 ? "it" : "them"));
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

}  // namespace

Result<Solution> adjust(const survey::Survey& survey, const Options& options, const Progress* progress) {
    if (const auto faults = survey::check(survey); !faults.empty()) return faults.front();
    auto network = Network::compile(survey);
    if (!network) return network.error();
    if (auto r = findStart(*network); !r) return r.error();
    auto round = solveRound(*network, options, progress);
    if (!round) return round.error();

    Solution out;
    SuspectSearch search(*network, options, progress, *round);
    if (options.findSuspects || options.withCovariance) search.judge();
    if (options.findSuspects) search.run();
    if (search.cancelled()) return *search.failure();
    out.notes = search.notes();
    out.iterations = round->iterations;
    out.global = globalTest(*network, round->sum);
    gatherGeometry(*network, out);
    if (options.withCovariance) {
        for (const Assessment& a : search.assessments())
            if (!a.result.object.empty()) out.observations.push_back(a.result);
        reportSuspects(*network, search.assessments(), search.aside(), out);
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
    return out;
}

}  // namespace trammel::adjust
