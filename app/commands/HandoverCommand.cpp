// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"
#include "core/handover/Deliver.h"
#include "core/handover/Table.h"
#include "core/storage/Disk.h"
#include "core/storage/SurveyFile.h"

namespace trammel::app {
namespace {

using std::filesystem::path;

struct HandoverArguments {
    std::string survey, out, face = "top", revision = "A";
    bool r12 = false, json = false, marksOnly = false;
};

struct Written {
    path dxf, table;
    handover::Contents contents;
};

handover::Terms termsOf(const HandoverArguments& a) {
    return {a.face == "bottom" ? drawing::Face::Bottom : drawing::Face::Top, a.revision,
            a.r12 ? handover::DxfVersion::R12 : handover::DxfVersion::R2000};
}

Result<Written> write(const HandoverArguments& a, const drawing::Drawing& d) {
    std::error_code failed;
    std::filesystem::create_directories(a.out, failed);
    if (failed)
        return Error{ErrorCode::WriteFailed, "the folder cannot be made", a.out, "choose another one"};
    // The unit and the face stand in the name: the file may travel without its header's reader or its text.
    const std::string stem = path(a.survey).stem().string();
    Written w{path(a.out) / fmt::format("{}-{}-mm.dxf", stem, a.face), path(a.out) / "dimensions.csv", {}};
    const auto contents = handover::deliver(d, termsOf(a).version, w.dxf);
    if (!contents) return contents.error();
    w.contents = *contents;
    if (const auto done = storage::writeWhole(w.table, handover::dimensionsCsv(d)); !done)
        return done.error();
    return w;
}

std::string report(const HandoverArguments& a, const Written& w, const drawing::Drawing& d, bool agrees) {
    if (a.json) {
        nlohmann::ordered_json j;
        j["dxf"] = w.dxf.string();
        j["dimensions"] = w.table.string();
        j["agrees"] = agrees;
        j["face"] = a.face;
        j["revision"] = a.revision;
        j["remarks"] = d.remarks;
        j["contents"] = nlohmann::ordered_json::parse(contentsJson(w.contents));
        return j.dump(2) + "\n";
    }
    std::string s = fmt::format("{}\n{}\n\nRead back, equal to the drawing to 1e-6 mm:\n{}", w.dxf.string(),
                                w.table.string(), contentsText(w.contents));
    for (const std::string& r : d.remarks) s += "remark: " + r + ".\n";
    return s;
}

int run(const HandoverArguments& a) {
    const auto survey = storage::load(a.survey);
    if (!survey) return complain(survey.error());
    if (!a.marksOnly) {
        const auto wrong = storage::checkPhotographs(*survey, a.survey);
        for (const Error& e : wrong) complain(e);
        if (!wrong.empty()) return kBadInput;
    }
    const auto solution = adjust::adjust(*survey);
    if (!solution) return complain(solution.error());
    const auto drawing = handover::drawingOf(*survey, *solution, termsOf(a));
    if (!drawing) return complain(drawing.error());
    const auto written = write(a, *drawing);
    if (!written) return complain(written.error());
    const bool agrees = adjust::agrees(*solution);
    if (const int code = printWhole(report(a, *written, *drawing, agrees))) return code;
    if (agrees) return kGood;
    fmt::print(stderr,
               "The survey disagrees with itself, so do not cut from these files yet; trammel adjust names "
               "the readings and marks most likely at fault.\n");
    return kDisagrees;
}

}  // namespace

void addHandover(CLI::App& app, int& code) {
    auto a = std::make_shared<HandoverArguments>();
    CLI::App* sub = app.add_subcommand(
        "handover", "Adjusts a survey and writes its outline as DXF and its dimensions as a table");
    sub->add_option("survey", a->survey, "Survey file")->required();
    sub->add_option("--out", a->out, "Folder for the files, made if missing")->required();
    sub->add_flag("--r12", a->r12, "Write DXF R12 for old machines instead of R2000");
    sub->add_option("--face", a->face, "Face to show; bottom is mirrored in x (default top)")
        ->check(CLI::IsMember({"top", "bottom"}));
    sub->add_option("--revision", a->revision, "Revision letter (default A)");
    sub->add_flag("--json", a->json, "Print the result as JSON");
    sub->add_flag("--marks-only", a->marksOnly,
                  "Do not look whether the photographs are there and unchanged");
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
