// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <cmath>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"
#include "core/drawing/Build.h"
#include "core/handover/Compare.h"
#include "core/handover/DxfWriter.h"
#include "core/handover/Inspect.h"
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

/// ± of any quantity where the adjustment kept its covariance.
drawing::PlusMinusOf plusMinusOf(const adjust::Solution& solution) {
    if (!solution.covariance) return {};
    return [&solution](const survey::Dimension& d) -> std::optional<double> {
        const auto r = solution.measure(d);
        if (!r || !std::isfinite(r->plusMinus)) return std::nullopt;
        return r->plusMinus;
    };
}

Result<drawing::Drawing> draw(const HandoverArguments& a, const survey::Survey& survey,
                              const adjust::Solution& solution) {
    drawing::Options options;
    options.face = a.face == "bottom" ? drawing::Face::Bottom : drawing::Face::Top;
    options.revision = a.revision;
    options.chain.plusMinus = plusMinusOf(solution);
    if (!adjust::agrees(solution)) {
        std::string s = "DO NOT CUT: the survey disagreed with itself when this was written";
        if (!solution.suspects.empty()) s += ": " + solution.suspects.front().sentence;
        if (s.back() == '.') s.pop_back();
        options.remarks.push_back(s);
    }
    return drawing::build(survey, solution, options);
}

/// Writes the files and reads the DXF back from the disk. A file that came out different is taken away again,
/// so that nobody cuts from it.
Result<Written> write(const HandoverArguments& a, const drawing::Drawing& d) {
    const auto text = handover::dxfText(d, a.r12 ? handover::DxfVersion::R12 : handover::DxfVersion::R2000);
    if (!text) return text.error();
    std::error_code failed;
    std::filesystem::create_directories(a.out, failed);
    if (failed)
        return Error{ErrorCode::WriteFailed, "the folder cannot be made", a.out, "choose another one"};
    // The unit and the face stand in the name: the file may travel without its header's reader or its text.
    const std::string stem = path(a.survey).stem().string();
    Written w{path(a.out) / fmt::format("{}-{}-mm.dxf", stem, a.face), path(a.out) / "dimensions.csv", {}};
    if (const auto done = storage::writeWhole(w.dxf, *text); !done) return done.error();
    const auto file = handover::readDxf(w.dxf);
    const auto different =
        file ? handover::differences(d, *file) : std::vector<std::string>{"it cannot be read"};
    if (!different.empty()) {
        std::filesystem::remove(w.dxf, failed);
        return Error{ErrorCode::WriteFailed,
                     "the file read back differs from the drawing: " + different.front(), w.dxf.string(),
                     "it was taken away again; check the disk and repeat"};
    }
    if (const auto done = storage::writeWhole(w.table, handover::dimensionsCsv(d)); !done)
        return done.error();
    w.contents = handover::inspect(*file, w.dxf.filename().string());
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
    const auto drawing = draw(a, *survey, *solution);
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
