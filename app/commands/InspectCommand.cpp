// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>

#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/adjust/Adjust.h"
#include "core/handover/CheckSheet.h"
#include "core/handover/Compare.h"
#include "core/photo/Decode.h"
#include "core/storage/SurveyFile.h"

namespace trammel::app {
namespace {

struct InspectArguments {
    std::string file, survey, revision;
    bool json = false;
};

/// The drawing that the file should hold: the survey's, under the terms that the file states for itself.
Result<drawing::Drawing> meant(const InspectArguments& a, const handover::DxfFile& file) {
    const auto survey = storage::load(a.survey);
    if (!survey) return survey.error();
    const auto solution = adjust::adjust(*survey);
    if (!solution) return solution.error();
    handover::Terms terms = handover::termsStated(file);
    if (!a.revision.empty()) terms.revision = a.revision;
    return handover::drawingOf(*survey, *solution, terms);
}

int run(const InspectArguments& a) {
    const std::filesystem::path path = a.file;
    const auto file = handover::readDxf(path);
    if (!file) return complain(file.error());
    const auto hash = photo::contentHash(path);
    if (!hash) return complain(hash.error());
    handover::CheckSheet sheet = handover::checkSheet(*file, path.filename().string(), *hash);
    if (!a.survey.empty()) {
        const auto drawing = meant(a, *file);
        if (!drawing) return complain(drawing.error());
        sheet.compared = true;
        sheet.differences = handover::differences(*drawing, *file);
    } else if (!a.revision.empty() && sheet.revision != a.revision) {
        sheet.compared = true;
        sheet.differences = {fmt::format("it is revision {}, and revision {} is meant",
                                         sheet.revision.empty() ? "not stated" : sheet.revision, a.revision)};
    }
    const std::string text =
        a.json ? checkJson(sheet) + "\n" : checkText(sheet) + "\n" + contentsText(sheet.contents);
    if (const int code = printWhole(text)) return code;
    return sheet.differences.empty() ? kGood : kDisagrees;
}

}  // namespace

void addInspect(CLI::App& app, int& code) {
    auto a = std::make_shared<InspectArguments>();
    CLI::App* sub = app.add_subcommand(
        "inspect", "Says what a DXF file really contains, and where it differs from a survey");
    sub->add_option("file", a->file, "DXF text file, R12 or later")->required();
    sub->add_option(
        "--survey", a->survey,
        "Compare with this survey's drawing, drawn with the face, kerf and steps that the file states; "
        "exit code 1 where they differ");
    sub->add_option("--revision", a->revision, "The revision that is meant");
    sub->add_flag("--json", a->json, "Print the contents as JSON");
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
