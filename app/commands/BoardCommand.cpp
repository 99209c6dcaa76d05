// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <string>

#include "app/commands/Commands.h"
#include "app/commands/Output.h"
#include "core/calibrate/BoardSheet.h"
#include "core/storage/PageFile.h"

namespace trammel::app {
namespace {

struct Arguments {
    std::string file, paper;
    int columns = 11, rows = 8;
    double square = 20.0;
    bool coded = false;
};

int run(const Arguments& a) {
    if (const auto named = storage::checkPageName(a.file); !named) return complain(named.error());
    const auto paper = sheet::paperNamed(a.paper);
    if (!paper && !a.paper.empty())
        return complain(
            {ErrorCode::BadValue, "no paper is called so", a.paper, "choose A4, A3, A2, A1, A0 or Letter"});
    calibrate::Board board;
    board.columns = a.columns, board.rows = a.rows;
    board.pitchX_mm = board.pitchY_mm = a.square;
    board.code = a.coded ? calibrate::BoardCode::Dots : calibrate::BoardCode::Plain;
    const auto page = calibrate::boardSheet(board, paper);
    if (!page) return complain(page.error());
    if (const auto written = storage::writePage(*page, "Board of squares", a.file); !written)
        return complain(written.error());
    return printWhole(fmt::format(
        "{}: a board of {} by {} squares of {:g} mm on {} ({:g} × {:g} mm).\nPrint it at 100 %, measure both "
        "bars of "
        "100 mm and the squares over their whole row and column, and give the measured pitch to trammel "
        "calibrate.\n",
        a.file, a.columns, a.rows, a.square, page->paper.name, page->paper.width_mm, page->paper.height_mm));
}

}  // namespace

void addBoard(CLI::App& app, int& code) {
    auto a = std::make_shared<Arguments>();
    CLI::App* sub = app.add_subcommand("board", "Writes a board of squares to print, for calibrating a lens");
    sub->add_option("--out", a->file, "File to write: .pdf or .svg")->required();
    sub->add_option("--columns", a->columns, "Squares across")->capture_default_str();
    sub->add_option("--rows", a->rows, "Squares down")->capture_default_str();
    sub->add_option("--square", a->square, "Side of a square, mm")->capture_default_str();
    sub->add_flag("--coded", a->coded, "With dots, so that a photograph may show a part of it");
    sub->add_option("--paper", a->paper,
                    "A4, A3, A2, A1, A0 or Letter; otherwise the smallest that holds it");
    sub->callback([a, &code] { code = run(*a); });
}

}  // namespace trammel::app
