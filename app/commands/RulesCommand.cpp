// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "app/commands/AdjustedSurvey.h"
#include "app/commands/Commands.h"
#include "app/commands/HandedArguments.h"
#include "app/commands/Output.h"
#include "core/rules/CheckRules.h"

namespace trammel::app {
namespace {

struct Arguments : HandedArguments {
    std::string shop;
};

int run(const Arguments& a) {
    const auto rules = rules::loadRules(a.shop);
    if (!rules) return complain(rules.error());
    const auto s = adjustedSurvey(a.survey, a.marksOnly);
    if (!s) return complain(s.error());
    const handover::Terms terms = a.terms();
    const auto drawing = handover::drawingOf(s->survey, s->solution, terms);
    if (!drawing) return complain(drawing.error());
    // Whether the kerf can be compensated at all; holes and webs are judged by the finished edges.
    handover::Terms compensated = terms;
    compensated.kerf = a.kerfTerms();
    if (a.kerf > 0.0)
        if (const auto path = handover::drawingOf(s->survey, s->solution, compensated); !path)
            return complain(path.error());
    const auto found = rules::check(*drawing, *rules, a.thickness, a.kerf);
    if (!found) return complain(found.error());
    const std::string text =
        a.json ? rules::findingsJson(*found, *rules) : rules::findingsText(*found, *rules);
    if (const int code = printWhole(text)) return code;
    const int agrees = verdict(s->agrees);
    return found->violations.empty() ? agrees : kDisagrees;
}

}  // namespace

void addRules(CLI::App& app, int& code) {
    auto a = std::make_shared<Arguments>();
    CLI::App* sub =
        app.add_subcommand("rules", "Says where a survey's outline is against the rules of a shop");
    addSurvey(*sub, *a);
    sub->add_option("--shop", a->shop, "File with the shop's rules (examples: resources/rules)")->required();
    addThickness(*sub, *a, "Thickness (mm) of the sheet to be cut");
    addFace(*sub, *a);
    addKerf(*sub, *a);
    addNominal(*sub, *a);
    addHoles(*sub, *a);
    addReport(*sub, *a);
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
