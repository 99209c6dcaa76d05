// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>
#include <algorithm>

#include <CLI/CLI.hpp>
#include <memory>

#include "app/commands/AdjustmentJson.h"
#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Advice.h"
#include "core/adjust/Report.h"
#include "core/storage/SurveyFile.h"

namespace trammel::app {
namespace {

struct AdjustArguments {
    std::string survey;
    bool json = false, marksOnly = false, growth = false;
    adjust::AdviceOptions advice;
};

std::string sentenceOf(const Result<adjust::Advice>& advice) {
    return advice ? advice->sentence : advice.error().sentence();
}

/// For this adjustment only: nothing is known of the tone curves of cameras of which the survey says nothing.
void letLightGrow(survey::Survey& survey) {
    for (survey::CameraGroup& g : survey.groups)
        if (g.lightGrowth == survey::Constant{})
            g.lightGrowth = {0.0, survey::kGrowthSigma, survey::ConstantMode::Prior};
}

bool knowsGrowth(const survey::Survey& survey) {
    return std::any_of(survey.marks.begin(), survey.marks.end(), [](const survey::Mark& m) {
        return std::any_of(m.points.begin(), m.points.end(),
                           [](const survey::MarkPoint& p) { return !p.growth_px.isZero(); });
    });
}

int run(const AdjustArguments& a) {
    Result<survey::Survey> survey = storage::load(a.survey);
    if (!survey) return complain(survey.error());
    if (a.growth) letLightGrow(*survey);
    if (a.growth && !knowsGrowth(*survey))
        fmt::print(stderr,
                   "no mark was fitted to a picture, so that nothing tells how light grows; fit first.\n");
    if (!a.marksOnly) {
        // The marks would still adjust, but to a picture that nobody has before their eyes: say so first.
        const std::vector<Error> wrong = storage::checkPhotographs(*survey, a.survey);
        for (const Error& e : wrong) complain(e);
        if (!wrong.empty()) return kBadInput;
    }
    const Result<adjust::Solution> solution = adjust::adjust(*survey);
    if (!solution) return complain(solution.error());
    const Result<adjust::Advice> advice = adjust::advise(*solution, a.advice);
    const std::string text =
        a.json ? adjustmentJson(*survey, *solution, advice, a.survey) + "\n"
               : adjust::reportText(*survey, *solution) + "Next: " + sentenceOf(advice) + "\n";
    if (const int code = printWhole(text)) return code;
    return adjust::agrees(*solution) ? kGood : kDisagrees;
}

}  // namespace

void addAdjust(CLI::App& app, int& code) {
    auto a = std::make_shared<AdjustArguments>();
    CLI::App* sub = app.add_subcommand("adjust", "Adjusts a survey and prints its dimensions with their ±");
    sub->add_option("survey", a->survey, "Survey file")->required();
    sub->add_flag("--json", a->json, "Print the result as JSON");
    sub->add_flag("--marks-only", a->marksOnly,
                  "Do not look whether the photographs are there and unchanged");
    sub->add_flag("--growth", a->growth,
                  "Find by how much light grows over dark in each camera's photographs (unknown tone curve)");
    sub->add_option("--caliper", a->advice.caliperReach_mm,
                    "How far the caliper at hand opens, mm (what to do next, default 300)")
        ->check(CLI::PositiveNumber);
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
