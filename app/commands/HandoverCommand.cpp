// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <vector>

#include "app/commands/AdjustedSurvey.h"
#include "app/commands/Commands.h"
#include "app/commands/HandedArguments.h"
#include "app/commands/Output.h"
#include "core/handover/CheckSheet.h"
#include "core/handover/Deliver.h"
#include "core/storage/Disk.h"

namespace trammel::app {
namespace {

using std::filesystem::path;

struct Arguments : HandedArguments {
    std::string out, paper = "A4";
    std::vector<double> bars;
    double clearance = 0.0, tabs = 0.0;
    bool r12 = false;
};

struct Written {
    handover::Delivered files;
    handover::CheckSheet check;
};

handover::Terms termsOf(const Arguments& a) {
    handover::Terms t = a.terms();
    t.version = a.r12 ? handover::DxfVersion::R12 : handover::DxfVersion::R2000;
    t.kerf = a.kerfTerms();
    t.pages.paper = sheet::paperNamed(a.paper).value_or(sheet::kA4);
    if (a.bars.size() == 3) t.pages.bars = {a.bars[0], a.bars[1], a.bars[2]};
    t.pages.tabs.width_mm = a.tabs;
    t.clearance_mm = a.clearance;
    return t;
}

Result<Written> write(const Arguments& a, const drawing::Drawing& d) {
    std::error_code failed;
    std::filesystem::create_directories(a.out, failed);
    if (failed)
        return Error{ErrorCode::WriteFailed, "the folder cannot be made", a.out, "choose another one"};
    Written w;
    storage::Disk disk;
    const auto files =
        handover::deliverSet(d, termsOf(a), a.out, path(a.survey).stem().string(), w.check, disk);
    if (!files) return files.error();
    w.files = *files;
    return w;
}

std::string report(const Arguments& a, const Written& w, const drawing::Drawing& d, bool agrees) {
    if (a.json) {
        auto j = nlohmann::ordered_json::object();
        j["dxf"] = w.files.dxf.string();
        j["svg"] = w.files.svg.string();
        j["dimensions"] = w.files.table.string();
        j["template"] = w.files.pages.string();
        j["check-sheet"] = w.files.checkPage.string();
        j["agrees"] = agrees;
        j["face"] = a.face;
        j["revision"] = a.revision;
        j["remarks"] = d.remarks;
        auto contents = nlohmann::ordered_json::parse(checkJson(w.check));
        j["check"] = contents["check"];
        contents.erase("check");
        j["contents"] = contents;
        return j.dump(2) + "\n";
    }
    std::string s;
    for (const path& file : w.files.all()) s += file.string() + "\n";
    s += fmt::format("\nRead back, equal to the drawing to 1e-6 mm:\n{}\n{}", checkText(w.check),
                     contentsText(w.check.contents));
    for (const std::string& r : d.remarks) s += "remark: " + r + ".\n";
    return s;
}

int run(const Arguments& a) {
    const auto adjusted = adjustedSurvey(a.survey, a.marksOnly);
    if (!adjusted) return complain(adjusted.error());
    const auto drawing = handover::drawingOf(adjusted->survey, adjusted->solution, termsOf(a));
    if (!drawing) return complain(drawing.error());
    const auto written = write(a, *drawing);
    if (!written) return complain(written.error());
    if (const int code = printWhole(report(a, *written, *drawing, adjusted->agrees))) return code;
    return verdict(adjusted->agrees);
}

}  // namespace

void addHandover(CLI::App& app, int& code) {
    auto a = std::make_shared<Arguments>();
    CLI::App* sub = app.add_subcommand("handover",
                                       "Adjusts a survey and writes its outline as DXF and SVG, its "
                                       "dimensions as a table and a check sheet");
    addSurvey(*sub, *a);
    sub->add_option("--out", a->out, "Folder for the files, made if missing")->required();
    sub->add_flag("--r12", a->r12, "Write DXF R12 for old machines instead of R2000");
    addFace(*sub, *a, "Face to show; bottom is mirrored in x (default top)");
    addRevision(*sub, *a);
    addKerf(*sub, *a, "Width of the cut (mm) to compensate in the file; without it the shop compensates",
            "With --kerf: cut outside of outlines and inside of openings, so that the part keeps its size "
            "(outside, default), or the other way round, for the sheet around it (inside)");
    sub->add_option("--clearance", a->clearance, "Draw keep-outs larger all round by so much (mm)")
        ->check(CLI::NonNegativeNumber);
    addNominal(*sub, *a,
               "Round places, diameters and radii to multiples of this (mm); every change is listed");
    sub->add_option("--paper", a->paper, "Paper of the template (default A4)")
        ->check(CLI::IsMember({"A4", "A3", "A2", "A1", "A0", "Letter"}));
    sub->add_option(
           "--bars", a->bars,
           "What the bars of a printed template measured (mm): x, y, diagonal; corrects the next print")
        ->expected(3);
    sub->add_option("--tabs", a->tabs,
                    "Width (mm) of bridges left in the lines of the template, to hold the card until the end")
        ->check(CLI::PositiveNumber);
    addHoles(*sub, *a,
             "Which holes are cut: those inside an outline of their level and those that are cutouts "
             "(inside, default), or cutouts only (cutouts)");
    addReport(*sub, *a);
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
