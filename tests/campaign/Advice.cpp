// SPDX-License-Identifier: GPL-3.0-or-later
// Whether five readings taken as advised shrink the worst ± at least as much as any of many random sequences
// of five drawn from the same possible readings; and how near they come to sequences drawn from the best
// fifty.
#include "core/adjust/Advice.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "Campaign.h"
#include "Shapes.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/AdvicePlan.h"
#include "core/adjust/Covariance.h"
#include "core/render/Random.h"
#include "core/survey/Edit.h"

namespace trammel::campaign {
namespace {

constexpr int kReadings = 5;
constexpr std::size_t kInformed = 50;

struct Case {
    std::string name;
    survey::Survey survey;
    render::Truth truth;
};

/// What a survey without dimensions might be asked for: where its holes are, how wide, and its heights.
void askForHoles(survey::Survey& s) {
    const auto ask = [&s](survey::Quantity q, std::vector<survey::Id> objects) {
        s.dimensions.push_back({survey::freshId(s, 'D'), "", q, std::move(objects)});
    };
    for (const survey::Feature& f : s.features) {
        if (f.kind != survey::FeatureKind::Hole) continue;
        ask(survey::Quantity::Diameter, {f.id});
        if (f.id == s.datum.origin) continue;
        ask(survey::Quantity::OffsetX, {s.datum.origin, f.id});
        if (f.id != s.datum.direction) ask(survey::Quantity::OffsetY, {s.datum.origin, f.id});
    }
    for (const survey::Level& l : s.levels)
        if (l.id != s.datum.level) ask(survey::Quantity::Height, {l.id});
}

std::vector<Case> cases(const Settings& settings, std::uint64_t seed, bool all) {
    const Sample sample(settings.scene);
    std::vector<Case> out;
    const auto sampled = [&](const char* name, bool fitted, auto&& change) {
        render::ObserveOptions o = marks(fitted, seed);
        change(o);
        out.push_back({name, sample.observer.draw(o), sample.truth});
    };
    sampled("board, hand marks", false, [](auto&) {});
    sampled("board, no readings", false, [](auto& o) { o.mostCalipers = o.mostDepths = o.mostTapes = 0; });
    if (!all) return out;
    sampled("board, fitted marks", true, [](auto&) {});
    sampled("board, three photographs", false, [](auto& o) {
        o.onlyStations = {"top", "front", "oblique A"};
    });
    out.push_back(out.front());
    out.back().name = "board, half of it wanted to ± 0.1";
    for (std::size_t i = 0; i < out.back().survey.dimensions.size(); i += 2) {
        survey::Dimension& d = out.back().survey.dimensions[i];
        d.important = true;
        d.target = d.quantity == survey::Quantity::Angle ? 0.005 : 0.1;
    }
    for (const Shape& shape : shapes()) {
        Drawn drawn = draw(shape, seed);
        if (drawn.survey.dimensions.empty()) askForHoles(drawn.survey);
        out.push_back({shape.name, drawn.survey, drawn.truth});
    }
    return out;
}

/// The worst figure without the widening after a failed global test, which is chance here.
double figure(const adjust::Goal& goal, const VecX& variances, const adjust::Solution& s) {
    return goal.judged(goal.worst(variances), variances).figure / s.covariance->inflation();
}

/// Worst figures after each of a number of random sequences; `among` narrows the choice unless empty.
std::vector<double> randomSequences(const adjust::Solution& s, const adjust::Goal& goal,
                                    const adjust::PossibleReadings& readings, int sequences,
                                    const std::vector<std::size_t>& among) {
    render::Random random(7);
    std::vector<double> figures;
    const std::size_t choice = among.empty() ? readings.size() : among.size();
    for (int n = 0; n < sequences; ++n) {
        estimate::Planned planned(s.covariance->factor());
        std::vector<std::size_t> taken;
        while (taken.size() < std::min<std::size_t>(kReadings, choice)) {
            auto i = std::min(choice - 1,
                              static_cast<std::size_t>(random.uniform() * static_cast<double>(choice)));
            if (!among.empty()) i = among[i];
            if (std::find(taken.begin(), taken.end(), i) != taken.end()) continue;
            taken.push_back(i);
            planned.observe(readings.gradient(i), readings.sigma(i));
        }
        figures.push_back(figure(goal, adjust::variancesOf(goal, planned), s));
    }
    std::sort(figures.begin(), figures.end());
    return figures;
}

/// Takes the advice as often as it helps, at most five times: simulated readings, adjusted anew each time.
double follow(Case c, adjust::Solution solution, render::Random& random, int& taken) {
    adjust::AdviceOptions options;
    options.views = false;
    options.leastGain = 0.0;
    for (taken = 0; taken < kReadings; ++taken) {
        const auto advice = adjust::advise(solution, options);
        if (!advice || advice->proposals.empty()) break;
        const auto& a = std::get<adjust::AdvisedReading>(advice->proposals.front().what);
        const auto truth = c.truth.value(a.quantity, a.objects);
        if (!truth) break;
        survey::Reading r;
        r.id = survey::freshId(c.survey, 'R');
        r.quantity = a.quantity;
        r.objects = a.objects;
        r.measured = {std::abs(*truth + a.sigma * random.normal()), a.sigma};
        c.survey.readings.push_back(r);
        auto next = adjust::adjust(c.survey);
        if (!next) {
            fmt::print("  {}: {}\n", c.name, next.error().sentence());
            return INFINITY;
        }
        solution = std::move(*next);
    }
    const auto goal = adjust::Goal::of(solution);
    if (!goal) return INFINITY;
    const VecX now = adjust::variancesOf(*goal, estimate::Planned(solution.covariance->factor()));
    return figure(*goal, now, solution);
}

bool run(const Case& c, int sequences) {
    const auto solution = adjust::adjust(c.survey);
    if (!solution) {
        fmt::print("  {}: {}\n", c.name, solution.error().sentence());
        return false;
    }
    const auto goal = adjust::Goal::of(*solution);
    if (!goal) {
        fmt::print("  {}: {}\n", c.name, goal.error().sentence());
        return false;
    }
    const estimate::Planned planned(solution->covariance->factor());
    const double before = figure(*goal, adjust::variancesOf(*goal, planned), *solution);
    const adjust::PossibleReadings readings(*solution, {});
    const auto any = randomSequences(*solution, *goal, readings, sequences, {});
    std::vector<std::size_t> good;
    for (const auto& r : adjust::bestReadings(readings, *goal, planned, kInformed)) good.push_back(r.reading);
    const auto informed = randomSequences(*solution, *goal, readings, sequences, good);
    render::Random random(3);
    int taken = 0;
    const double advised = follow(c, *solution, random, taken);
    const bool holds = advised <= any.front() && advised <= informed.front();
    fmt::print("  {:<42} {:>6} {:>9.4f} {:>9.4f}({}) {:>9.4f} {:>9.4f} {:>9.4f}{}\n", c.name, readings.size(),
               before, advised, taken, any.front(), any[any.size() / 2], informed.front(),
               holds ? "" : "  <- a random sequence did better");
    return holds;
}

}  // namespace

int advice(const Settings& settings) {
    fmt::print(
        "Worst of the dimensions that matter after {} readings: as advised (adjusted anew after each), and "
        "in {} random sequences\n  (± in mm, or in parts of the wanted ±)\n",
        kReadings, settings.draws);
    fmt::print("  {:<42} {:>6} {:>9} {:>12} {:>9} {:>9} {:>9}\n", "survey", "choice", "before", "as advised",
               "best", "median", "of 50");
    bool good = true;
    const bool all = settings.draws >= 500;
    for (std::uint64_t seed = 1; seed <= (all ? 3 : 1); ++seed)
        for (const Case& c : cases(settings, seed, all)) good = run(c, settings.draws) && good;
    return good ? 0 : 1;
}

}  // namespace trammel::campaign
