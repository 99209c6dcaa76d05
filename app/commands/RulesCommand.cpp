// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "app/commands/AdjustedSurvey.h"
#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/rules/CheckRules.h"

namespace trammel::app {
namespace {

struct Arguments {
    std::string survey, shop, face = "top", side = "outside", holes = "inside";
    double thickness = 0.0, kerf = 0.0, nominal = 0.0;
    bool json = false, marksOnly = false;
};

int run(const Arguments& a) {
    const auto rules = rules::loadRules(a.shop);
    if (!rules) return complain(rules.error());
    const auto s = adjustedSurvey(a.survey, a.marksOnly);
    if (!s) return complain(s.error());
    handover::Terms terms;
    terms.face = a.face == "bottom" ? drawing::Face::Bottom : drawing::Face::Top;
    terms.nominal_mm = a.nominal;
    terms.holes = a.holes == "cutouts" ? drawing::HoleChoice::Chosen : drawing::HoleChoice::Inside;
    const auto drawing = handover::drawingOf(s->survey, s->solution, terms);
    if (!drawing) return complain(drawing.error());
    // Whether the kerf can be compensated at all; holes and webs are judged by the finished edges.
    handover::Terms compensated = terms;
    compensated.kerf = {a.kerf, a.side == "inside" ? drawing::KeptSide::Sheet : drawing::KeptSide::Part};
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
    sub->add_option("survey", a->survey, "Survey file")->required();
    sub->add_option("--shop", a->shop, "File with the shop's rules (examples: resources/rules)")->required();
    sub->add_option("--thickness", a->thickness, "Thickness (mm) of the sheet to be cut")
        ->check(CLI::PositiveNumber);
    sub->add_option("--face", a->face, "Face to show, as for handover (default top)")
        ->check(CLI::IsMember({"top", "bottom"}));
    sub->add_option("--kerf", a->kerf, "Kerf (mm) that the file would compensate, as for handover")
        ->check(CLI::PositiveNumber);
    sub->add_option("--side", a->side, "With --kerf, as for handover (outside or inside)")
        ->check(CLI::IsMember({"outside", "inside"}));
    sub->add_option("--nominal", a->nominal, "Step of nominal sizes (mm), as for handover")
        ->check(CLI::PositiveNumber);
    sub->add_option("--holes", a->holes, "Which holes are cut, as for handover (inside or cutouts)")
        ->check(CLI::IsMember({"inside", "cutouts"}));
    sub->add_flag("--json", a->json, "Print the result as JSON");
    sub->add_flag("--marks-only", a->marksOnly,
                  "Do not look whether the photographs are there and unchanged");
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
