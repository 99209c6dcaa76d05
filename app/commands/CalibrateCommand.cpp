// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/calibrate/CalibratePhotographs.h"
#include "core/calibrate/CalibrationPage.h"
#include "core/calibrate/CalibrationText.h"
#include "core/calibrate/LensStore.h"
#include "core/storage/PageFile.h"

namespace trammel::app {
namespace {

struct CalibrateRequest {
    std::vector<std::string> photographs;
    calibrate::Board board;
    double squareY = 0.0;
    bool coded = false, flat = false, json = false, keep = false;
    double focus = 0.0;
    std::string out, sheet, body, lens;
};

nlohmann::ordered_json asJson(const calibrate::LensCalibration& c) {
    const calibrate::Calibration& k = c.calibration;
    nlohmann::ordered_json frames = nlohmann::ordered_json::array();
    for (const calibrate::PhotographResult& p : k.frames)
        frames.push_back({{"name", p.name},
                          {"used", p.used},
                          {"rms_px", p.rms_px},
                          {"corners", p.corners.size()},
                          {"left_out", p.dropped},
                          {"why", p.why}});
    return {{"lens", nlohmann::ordered_json::parse(calibrate::toJson(c.record))},
            {"corners", k.corners},
            {"photographs", frames},
            {"coverage",
             {{"across", k.coverage.across}, {"down", k.coverage.down}, {"counts", k.coverage.counts}}},
            {"remarks", k.remarks},
            {"advice", k.advice}};
}

int run(CalibrateRequest request) {
    if (request.squareY < 0.0)
        return complain(
            {ErrorCode::BadValue, "must be above zero", "--square-y", "leave it out for squares"});
    if (!request.sheet.empty())
        if (const auto named = storage::checkPageName(request.sheet); !named) return complain(named.error());
    request.board.pitchY_mm = request.squareY > 0.0 ? request.squareY : request.board.pitchX_mm;
    request.board.code = request.coded ? calibrate::BoardCode::Dots : calibrate::BoardCode::Plain;
    const std::vector<std::filesystem::path> files(request.photographs.begin(), request.photographs.end());
    calibrate::PhotographOptions options;
    options.uneven = !request.flat;
    options.focus_m = request.focus;
    auto c = [&] {
        const ProgressLine line("calibrating");
        return calibrate::calibratePhotographs(files, request.board, options, line.progress());
    }();
    if (!c) return complain(c.error());
    if (!request.body.empty()) c->record.body = request.body;
    if (!request.lens.empty()) c->record.lens = request.lens;
    // The report first: minutes of work must not be lost to a folder that takes no files.
    const int printed = printWhole(
        request.json ? asJson(*c).dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n"
                     : calibrate::calibrationText(*c));
    if (!request.out.empty())
        if (const auto done = calibrate::saveLens(c->record, request.out); !done)
            return complain(done.error());
    if (request.keep) {
        if (c->record.body.empty() && c->record.lens.empty())
            return complain({ErrorCode::BadValue, "the files name neither body nor lens", "--store",
                             "name them with --body and --lens, so that it is found again"});
        const auto kept = calibrate::LensStore(calibrate::usersLensFolder()).keep(c->record);
        if (!kept) return complain(kept.error());
        fmt::print(stderr, "kept as {}\n", kept->string());
    }
    if (!request.sheet.empty())
        if (const auto done =
                storage::writePage(calibrate::calibrationPage(*c), "Calibration of a lens", request.sheet);
            !done)
            return complain(done.error());
    return printed;
}

}  // namespace

void addCalibrate(CLI::App& app, int& code) {
    auto request = std::make_shared<CalibrateRequest>();
    CLI::App* command =
        app.add_subcommand("calibrate", "Constants of a lens from photographs of a board of squares");
    command->add_option("photographs", request->photographs, "Photographs of the board, eight or more")
        ->required();
    command->add_option("--columns", request->board.columns, "Squares of a row, the outermost too")
        ->required();
    command->add_option("--rows", request->board.rows, "Squares of a column")->required();
    command->add_option("--square", request->board.pitchX_mm, "Width of a square, mm, measured over many")
        ->required();
    command->add_option("--square-y", request->squareY, "Height of a square, mm, where it is another");
    command->add_flag("--coded", request->coded, "The squares carry the dots of a coded board");
    command->add_flag(
        "--even", request->flat,
        "Hold the board for flat and its squares for exactly as stated: etched glass, not a print");
    command->add_option("--focus", request->focus, "Distance focused at, m, where the files do not tell");
    command->add_option("--out", request->out, "Lens file to write (JSON)");
    command->add_option("--body", request->body, "Name of the camera body, where the files do not tell");
    command->add_option("--lens", request->lens, "Name of the lens, where the files do not tell");
    command->add_flag("--store", request->keep, "Keep the lens, to be offered for photographs taken with it");
    command->add_option("--sheet", request->sheet, "Page of coverage and residuals to write (PDF or SVG)");
    command->add_flag("--json", request->json, "Report as JSON");
    command->callback([request, &code] { code = run(*request); });
}

}  // namespace trammel::app
