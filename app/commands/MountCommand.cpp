// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <vector>

#include "app/commands/AdjustedSurvey.h"
#include "app/commands/Commands.h"
#include "app/commands/HandedArguments.h"
#include "app/commands/Output.h"
#include "core/mount/SchedulePage.h"
#include "core/storage/Disk.h"
#include "core/storage/PageFile.h"

namespace trammel::app {
namespace {

struct Arguments : HandedArguments {
    std::string screw, counterpart = "tapped", out, csv;
    std::vector<std::string> chosen;
    double made = 0.0, standoff = -1.0;
};

mount::Terms termsOf(const Arguments& a) {
    mount::Terms t;
    t.holes = a.chosen;
    t.thread = a.screw;
    t.made_mm = a.made;
    if (a.standoff >= 0.0) t.standoff_mm = a.standoff;
    t.thickness_mm = a.thickness;
    using mount::Counterpart;
    t.counterpart = a.counterpart == "fine"     ? Counterpart::Fine
                    : a.counterpart == "medium" ? Counterpart::Medium
                    : a.counterpart == "coarse" ? Counterpart::Coarse
                                                : Counterpart::Tapped;
    return t;
}

int run(const Arguments& a) {
    if (!a.out.empty())
        if (const auto named = storage::checkPageName(a.out); !named) return complain(named.error());
    const auto s = adjustedSurvey(a.survey, a.marksOnly);
    if (!s) return complain(s.error());
    const auto drawing = handover::drawingOf(s->survey, s->solution, a.terms());
    if (!drawing) return complain(drawing.error());
    const auto schedule = mount::scheduleOf(s->survey, s->solution, *drawing, termsOf(a));
    if (!schedule) return complain(schedule.error());
    if (!a.out.empty()) {
        const auto pages = mount::schedulePages(*schedule);
        if (!pages) return complain(pages.error());
        const auto files = storage::writePages(*pages, "Mount schedule of " + schedule->title, a.out);
        if (!files) return complain(files.error());
    }
    if (!a.csv.empty())
        if (const auto written = storage::writeWhole(a.csv, mount::scheduleCsv(*schedule)); !written)
            return complain(written.error());
    if (const int code = printWhole(a.json ? mount::scheduleJson(*schedule) : mount::scheduleText(*schedule)))
        return code;
    return verdict(s->agrees);
}

}  // namespace

void addMount(CLI::App& app, int& code) {
    auto a = std::make_shared<Arguments>();
    CLI::App* sub = app.add_subcommand(
        "mount",
        "Says how a part is mounted by its holes: clear heights, screws, and whether the pattern fits");
    addSurvey(*sub, *a);
    sub->add_option("--holes", a->chosen,
                    "Holes by name or letter, separated by commas (default: all of the level with most)")
        ->delimiter(',');
    sub->add_option("--screw", a->screw, "Screw for all of them, such as M3 (default: by each hole's size)");
    sub->add_option("--counterpart", a->counterpart,
                    "What takes the screws: threads or inserts (tapped, default), or holes of ISO 273")
        ->check(CLI::IsMember({"tapped", "fine", "medium", "coarse"}));
    sub->add_option("--made", a->made,
                    "± (mm, k = 2) of the places at which the counterpart is made (default 0)")
        ->check(CLI::NonNegativeNumber);
    sub->add_option("--standoff", a->standoff, "Height (mm) of the standoffs (default: by the lowest level)")
        ->check(CLI::NonNegativeNumber);
    addThickness(*sub, *a, "Thickness (mm), where the survey has no level below the holes");
    addRevision(*sub, *a);
    sub->add_option("--out", a->out, "Page to write as well, .pdf or .svg");
    sub->add_option("--csv", a->csv, "Table of the holes to write as well");
    addReport(*sub, *a);
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
