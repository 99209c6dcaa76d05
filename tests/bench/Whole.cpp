// SPDX-License-Identifier: GPL-3.0-or-later
#include "Whole.h"

#include <fmt/core.h>

#include <optional>

#include "core/adjust/Adjust.h"
#include "core/adjust/Assess.h"
#include "core/adjust/Start.h"
#include "core/estimate/Solver.h"
#include "core/survey/Check.h"

namespace trammel::bench {
namespace {

void show(const char* what, double time, const std::string& more = "") {
    fmt::print("  {:<24} {:8.1f} ms{}\n", what, 1e3 * time, more);
}

void timeParts(const survey::Survey& s) {
    show("check", seconds([&] {
             if (!survey::check(s).empty()) fail("the survey is unsound");
         }));
    std::optional<adjust::Network> n;
    show("compile", seconds([&] { n.emplace(*adjust::Network::compile(s)); }));
    show("start", seconds([&] {
             if (!adjust::findStart(*n)) fail("no start");
         }));
    int iterations = 0;
    show("solve", seconds([&] {
             const auto report = estimate::solve(*n);
             if (!report) fail(report.error().sentence());
             iterations = report->iterations;
         }));
    fmt::print("  {:<24} {:8}\n", "  its iterations", iterations);
    std::vector<estimate::Rows> rows;
    show("linearise", seconds([&] { n->linearise(rows, true); }));
    show("and again", seconds([&] { n->linearise(rows, true); }));
    std::optional<estimate::Normal> normal;
    show("normal equations", seconds([&] {
             normal.emplace(n->layout(), rows);
             normal->assemble(rows);
         }));
    estimate::RankDefect defect;
    std::optional<estimate::CovarianceFactor> factor;
    show("factor", seconds([&] { factor.emplace(*normal, defect); }));
    show("assess", seconds([&] { assess(adjust::Influence(*n, *factor)); }));
}

}  // namespace

void timeWhole(const Settings& settings, const survey::Survey& survey) {
    fmt::print("the whole adjustment, in parts\n");
    timeParts(survey);
    std::size_t suspects = 0;
    int iterations = 0;
    const double cold = median(settings.repeat, [&] {
        return seconds([&] {
            const auto solution = adjust::adjust(survey);
            if (!solution) fail(solution.error().sentence());
            suspects = solution->suspects.size();
            iterations = solution->iterations;
        });
    });
    show("whole, cold", cold, fmt::format("  {} iterations, {} suspects", iterations, suspects));

    adjust::Options options;
    options.previous = std::make_shared<const adjust::Solution>(*adjust::adjust(survey));
    survey::Survey edited = survey;
    edited.marks[edited.marks.size() / 2].points.front().px += Vec2(0.4, -0.3);
    const double warm = median(settings.repeat, [&] {
        return seconds([&] {
            const auto solution = adjust::adjust(edited, options);
            if (!solution) fail(solution.error().sentence());
            suspects = solution->suspects.size();
            iterations = solution->iterations;
        });
    });
    show("whole, one mark moved", warm, fmt::format("  {} iterations, {} suspects", iterations, suspects));
    fmt::print("  time ratio, warm to cold: {:.3f}\n", warm / cold);
}

}  // namespace trammel::bench
