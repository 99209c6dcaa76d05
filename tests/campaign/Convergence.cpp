// SPDX-License-Identifier: GPL-3.0-or-later
// Whether surveys that hold everything settle in the right minimum, and those that do not are refused by
// name.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "AtTruth.h"
#include "Campaign.h"
#include "RandomShapes.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Covariance.h"

namespace trammel::campaign {
namespace {

constexpr int kMostIterations = 24;
/// The aim is all; the bar is what holds at present, so that a step back is seen.
constexpr double kLeastShare = 0.85;

/// 99.9 % quantile of χ² with one degree of freedom: sums that differ by less are not told apart.
constexpr double kAlike = 10.83;

enum class Verdict { Right, Open, Wrong };

struct Judged {
    Verdict verdict = Verdict::Wrong;
    std::string words;  ///< of what is not right
    int iterations = 0;
};

struct Tally {
    int total = 0, right = 0, open = 0, slow = 0, most = 0;
    double iterations = 0.0;
};

/// How far the worst dimension lies from the truth, in its standard uncertainty; loose ones aside.
double worstNormalised(const adjust::Solution& solution, const Drawn& drawn) {
    double worst = 0.0;
    const survey::Survey& s = drawn.survey;
    const auto look = [&](survey::Quantity q, std::vector<survey::Id> objects) {
        survey::Dimension d;
        d.quantity = q;
        d.objects = std::move(objects);
        const auto m = solution.measure(d);
        const auto t = drawn.truth.value(q, d.objects);
        if (m && t && m->plusMinus > 0) worst = std::max(worst, 2 * std::abs(m->value - *t) / m->plusMinus);
    };
    for (const survey::Feature& f : s.features)
        if (f.kind != survey::FeatureKind::Edge && f.id != s.datum.origin) {
            look(survey::Quantity::OffsetX, {s.datum.origin, f.id});
            if (f.id != s.datum.direction) look(survey::Quantity::OffsetY, {s.datum.origin, f.id});
        }
    for (const survey::Level& l : s.levels)
        if (l.id != s.datum.level) look(survey::Quantity::Height, {l.id});
    return worst;
}

/// How far points and heights lie from those of another state, in their standard uncertainty.
double farthestMove(const adjust::Solution& solution, const adjust::State& other) {
    const adjust::Covariance& covariance = *solution.covariance;
    const adjust::State& state = covariance.state();
    double worst = 0.0;
    const auto look = [&](int column, double move) {
        if (column >= 0) worst = std::max(worst, std::abs(move) / covariance.sigma({{column, 1.0}}));
    };
    for (std::size_t i = 0; i < state.features.size(); ++i)
        if (state.features[i].kind != survey::FeatureKind::Edge)
            for (int k = 0; k < 2; ++k)
                look(covariance.columns().features[i][adjust::at(k)],
                     state.features[i].p[k] - other.features[i].p[k]);
    for (std::size_t i = 0; i < state.levels.size(); ++i)
        look(covariance.columns().levels[i], state.levels[i] - other.levels[i]);
    return worst;
}

/// Where the program settled against the minimum next to the truth.
Judged compare(const adjust::Solution& solution, const Minimum& minimum, const Drawn& drawn) {
    Judged j;
    j.iterations = solution.iterations;
    const double sum = solution.global.varianceFactor * solution.global.degreesOfFreedom;
    const double higher = sum - minimum.sumOfSquares;
    // Cameras that little holds may settle in a second minimum of nearly the same sum; the part must not
    // move.
    const double moved = std::abs(higher) > 0.01 ? farthestMove(solution, minimum.state) : 0.0;
    if (moved > 0.2 || higher > 2.0) {
        j.verdict = higher < kAlike ? Verdict::Open : Verdict::Wrong;
        j.words = fmt::format("sum of squares {:.4f}, from the truth {:.4f}", sum, minimum.sumOfSquares);
        return j;
    }
    const double worst = worstNormalised(solution, drawn);
    if (worst < 6.0)
        j.verdict = Verdict::Right;
    else
        j.words = fmt::format("a dimension is {:.1f} standard uncertainties off", worst);
    return j;
}

/// Right: settled in the minimum next to the truth, within the ± there. Open: no program could tell (see the
/// table's heading).
Judged judge(const Drawn& drawn) {
    adjust::Options options;
    options.findSuspects = false;
    const auto solution = adjust::adjust(drawn.survey, options);
    const auto minimum = minimumFromTruth(drawn);
    if (solution && minimum) return compare(*solution, *minimum, drawn);
    Judged j;
    j.words = solution ? "from the truth: " + minimum.error().sentence() : solution.error().sentence();
    if (minimum && !minimum->determined) j.verdict = Verdict::Open;
    return j;
}

bool runSound(Hard hard, const Settings& settings, int draws) {
    Tally t;
    for (int seed = settings.first; seed < settings.first + draws; ++seed) {
        const Judged j = judge(randomSound(hard, static_cast<std::uint64_t>(seed)));
        ++t.total;
        t.right += j.verdict == Verdict::Right;
        t.open += j.verdict == Verdict::Open;
        t.slow += j.iterations > kMostIterations;
        t.most = std::max(t.most, j.iterations);
        t.iterations += j.iterations;
        if (j.verdict != Verdict::Right)
            fmt::print("    {} {} {}: {}\n", hardName(hard), seed,
                       j.verdict == Verdict::Open ? "open" : "wrong", j.words);
        if (j.iterations > kMostIterations)
            fmt::print("    {} {}: {} iterations\n", hardName(hard), seed, j.iterations);
    }
    fmt::print("  {:<46} {:>5} {:>5} {:>5} {:>5}   iterations mean {:.1f} most {}, above {}: {}\n",
               hardName(hard), t.total, t.right, t.open, t.total - t.right - t.open,
               t.iterations / std::max(t.total, 1), t.most, kMostIterations, t.slow);
    if (t.right + t.open < t.total || t.slow > 0)
        fmt::print("    short of the aim: none wrong, none above {}\n", kMostIterations);
    // What is open counts against the share: a program that made everything open would not pass.
    return t.right >= kLeastShare * t.total && t.total - t.slow >= kLeastShare * t.total;
}

bool runUnsound(int kind, int first, int draws) {
    int right = 0;
    std::string missing;
    for (int seed = first; seed < first + draws; ++seed) {
        const Unsound u = randomUnsound(kind, static_cast<std::uint64_t>(seed));
        missing = u.missing;
        const auto solution = adjust::adjust(u.drawn.survey);
        const bool refused =
            !solution && std::find(u.codes.begin(), u.codes.end(), solution.error().code) != u.codes.end() &&
            solution.error().sentence().find(u.named) != std::string::npos;
        // A photograph that cannot be placed may also be left out, by name.
        const bool leftOut = solution && !solution->suspects.empty() &&
                             solution->suspects.front().sentence.find(u.named) != std::string::npos;
        right += refused || leftOut;
        if (!refused && !leftOut)
            fmt::print("    {} {} (expected {}): {}\n", u.missing, seed, u.named,
                       solution ? "was not refused" : solution.error().sentence());
    }
    fmt::print("  {:<46} {:>5} of {:>5} refused or left out by the right name\n", missing, right, draws);
    return right >= kLeastShare * draws;
}

}  // namespace

int convergence(const Settings& settings) {
    bool good = true;
    fmt::print(
        "Random sound surveys: settled in the minimum next to the truth, with every dimension within six of\n"
        "its standard uncertainties. Open, and neither right nor wrong, is where the observations cannot\n"
        "tell: the part settled elsewhere with a sum of squares lower than next to the truth or higher by\n"
        "less than {} (99.9 % of chi-square with one degree of freedom), or it did not settle and the\n"
        "minimum next to the truth is itself undetermined.\n"
        "  {:<46} {:>5} {:>5} {:>5} {:>5}\n",
        kAlike, "", "draws", "right", "open", "wrong");
    for (const Hard hard : kAllHard) good = runSound(hard, settings, std::max(1, settings.draws / 4)) && good;
    fmt::print("Surveys with one thing missing\n");
    for (int kind = 0; kind < kUnsoundKinds; ++kind)
        good = runUnsound(kind, settings.first, std::max(1, settings.draws / 40)) && good;
    return good ? 0 : 1;
}

}  // namespace trammel::campaign
