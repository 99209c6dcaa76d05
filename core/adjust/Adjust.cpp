// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Adjust.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "core/adjust/Assess.h"
#include "core/adjust/Covariance.h"
#include "core/adjust/Gather.h"
#include "core/adjust/Network.h"
#include "core/adjust/Start.h"
#include "core/adjust/Suspects.h"
#include "core/estimate/Normal.h"
#include "core/estimate/Solver.h"
#include "core/math/Statistics.h"
#include "core/survey/Check.h"

namespace trammel::adjust {
namespace {

/// One adjusted state with its covariance.
struct Round {
    int iterations = 0;
    double sum = 0.0;
    std::shared_ptr<estimate::CovarianceFactor> covariance;
};

Error undetermined(const Network& n, const estimate::RankDefect& defect) {
    std::string names;
    int listed = 0;
    for (const auto& [column, share] : defect.direction) {
        const std::string name = n.columnName(column);
        if (names.find(name) != std::string::npos) continue;
        if (listed++ == 3) break;
        names += (names.empty() ? "" : ", ") + name;
    }
    return {
        ErrorCode::RankDefect, "the marks and readings leave it undetermined", names,
        defect.block
            ? "mark it in another photograph that sees it from another direction"
            : "add a reading that holds it, or mark more features in a photograph from another direction"};
}

Result<Round> solveRound(Network& n, const Options& options, const Progress* progress) {
    estimate::SolverOptions solver;
    solver.mostIterations = options.mostIterations;
    auto report = estimate::solve(n, solver, progress);
    if (!report && report.error().code == ErrorCode::Cancelled) return report.error();
    // An adjustment that does not settle is most often one that cannot: then say what hangs loose.
    std::vector<estimate::Rows> rows;
    if (!n.linearise(rows, true)) {
        return report ? Error{ErrorCode::NoConvergence, "ends with a point behind a camera", "adjustment",
                              "look for photographs given the wrong view"}
                      : report.error();
    }
    estimate::Normal normal(n.layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    Round round;
    round.covariance = std::make_shared<estimate::CovarianceFactor>(normal, defect);
    if (!round.covariance->valid()) return undetermined(n, defect);
    if (!report) return report.error();
    round.iterations = report->iterations;
    round.sum = report->sumOfSquares;
    return round;
}

/// Sets aside the worst disagreement, adjusts again, and so on; at the end takes back what then agrees.
struct SuspectSearch {
    Network& n;
    const Options& options;
    const Progress* progress;
    Round& round;
    std::vector<int> aside{};
    std::vector<std::string> notes{};
    std::vector<Assessment> assessments{};  ///< at the state of `round`
    std::optional<Error> failure{};         ///< of the last attempt

    bool cancelled() const { return failure && failure->code == ErrorCode::Cancelled; }

    bool trySolve() {
        const State before = n.state();
        auto next = solveRound(n, options, progress);
        failure.reset();
        if (!next) {
            failure = next.error();
            n.state() = before;
            n.forgetFeet();
            return false;
        }
        next->iterations += round.iterations;
        round = *next;
        judge();
        return true;
    }

    void judge() { assessments = assess(n, *round.covariance); }

    void run() {
        std::vector<bool> immune(n.owners().size(), false);
        while (static_cast<int>(aside.size()) < options.mostSuspects) {
            const int worst = worstDisagreement(n, assessments, options.suspectProbability, immune);
            if (worst < 0) break;
            const auto w = static_cast<std::size_t>(worst);
            n.owners()[w].active = false;
            if (trySolve()) {
                aside.push_back(worst);
                continue;
            }
            n.owners()[w].active = true;
            if (cancelled()) return;
            immune[w] = true;
            const bool loose = failure->code == ErrorCode::RankDefect;  // nothing else holds what it holds
            notes.push_back("The " + n.owners()[w].description + " disagrees, but " +
                            (loose ? "without it something is left undetermined: observe it once more."
                                   : "the adjustment does not settle without it: look at it first."));
        }
        takeBack();
    }

    void takeBack() {
        const double least = std::log(options.suspectProbability);
        for (std::size_t i = 0; i < aside.size();) {
            const auto o = static_cast<std::size_t>(aside[i]);
            if (assessments[o].logProbability < least) {
                ++i;
                continue;
            }
            n.owners()[o].active = true;
            if (trySolve()) {
                aside.erase(aside.begin() + static_cast<std::ptrdiff_t>(i));
            } else {
                n.owners()[o].active = false;
                if (cancelled()) return;
                ++i;
            }
        }
    }
};

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
    SuspectSearch search{*network, options, progress, *round};
    if (options.findSuspects || options.withCovariance) search.judge();
    if (options.findSuspects) search.run();
    if (search.cancelled()) return *search.failure;
    out.notes = search.notes;
    out.iterations = round->iterations;
    out.global = globalTest(*network, round->sum);
    gatherGeometry(*network, out);
    if (options.withCovariance) {
        for (const Assessment& a : search.assessments)
            if (!a.result.object.empty()) out.observations.push_back(a.result);
        reportSuspects(*network, search.assessments, search.aside, out);
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
