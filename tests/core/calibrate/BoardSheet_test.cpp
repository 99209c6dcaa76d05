// SPDX-License-Identifier: GPL-3.0-or-later
// The printed board, painted by poppler and librsvg at 600 dpi and measured.
#include "core/calibrate/BoardSheet.h"

#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <string>
#include <vector>

#include "TemporaryFolder.h"
#include "core/sheet/WriteSheet.h"

using namespace trammel;
using namespace trammel::calibrate;

namespace {

constexpr double kPx = 25.4 / 600;  // mm

struct Grey {
    int width = 0, height = 0;
    std::string data;
    double dark(int x, int y) const {
        return 1.0 - static_cast<unsigned char>(data[static_cast<std::size_t>(y) * width + x]) / 255.0;
    }
    /// Dark at a place in mm from the lower left.
    double darkAt(const Vec2& mm) const {
        return dark(static_cast<int>(mm.x() / kPx), height - 1 - static_cast<int>(mm.y() / kPx));
    }
};

Grey painted(const std::string& bytes, const char* name, const std::string& command) {
    const test::TemporaryFolder folder;
    std::ofstream(folder / name, std::ios::binary) << bytes;
    const std::string out = (folder / "out.pgm").string();
    REQUIRE(std::system((command + " " + (folder / name).string() + " > " + out).c_str()) == 0);
    std::ifstream in(out, std::ios::binary);
    std::string magic;
    int most = 0;
    Grey g;
    in >> magic >> g.width >> g.height >> most;
    in.get();
    REQUIRE(magic == "P5");
    g.data.resize(static_cast<std::size_t>(g.width) * g.height);
    in.read(g.data.data(), static_cast<std::streamsize>(g.data.size()));
    return g;
}

/// Places where dark begins or ends along a straight line, mm from its first end, to a share of a pixel by
/// how dark the pixel in between is.
std::vector<double> changes(const Grey& g, bool along, double fixed_mm, double from_mm, double to_mm) {
    std::vector<double> at;
    const int first = static_cast<int>(from_mm / kPx), last = static_cast<int>(to_mm / kPx);
    const int fixed =
        along ? g.height - 1 - static_cast<int>(fixed_mm / kPx) : static_cast<int>(fixed_mm / kPx);
    const auto value = [&](int i) { return along ? g.dark(i, fixed) : g.dark(fixed, g.height - 1 - i); };
    for (int i = first; i < last; ++i) {
        const double a = value(i), b = value(i + 1);
        if ((a - 0.5) * (b - 0.5) < 0) at.push_back((i + 0.5 + (0.5 - a) / (b - a)) * kPx);
    }
    return at;
}

void check(const Grey& g, const Board& board, const sheet::Paper& paper) {
    CHECK(g.width * kPx == Approx(paper.width_mm).margin(0.05).epsilon(0));
    CHECK(g.height * kPx == Approx(paper.height_mm).margin(0.05).epsilon(0));
    const BoardPlace p = placeOf(board, paper);
    // Both bars: begin, end and length.
    for (const bool along : {true, false}) {
        const Vec2 corner = along ? p.barX : p.barY;
        const double begin = along ? corner.x() : corner.y(),
                     across = (along ? corner.y() : corner.x()) + 1.5;
        const auto ends = changes(g, along, across, begin - 1.5, begin + kBarLength_mm + 1.5);
        REQUIRE(ends.size() == 2);
        CHECK(ends[1] - ends[0] == Approx(100.0).margin(0.05).epsilon(0));
        CHECK(ends[0] == Approx(begin).margin(0.05).epsilon(0));
    }
    // Each line between columns and rows, seen along the first row and down the first column, past the dots.
    const double y = p.upperLeft.y() - 0.15 * board.pitchY_mm, x = p.upperLeft.x() + 0.15 * board.pitchX_mm;
    const auto columns = changes(g, true, y, p.upperLeft.x() - 2, p.upperLeft.x() + board.size().x() + 2);
    const auto rows = changes(g, false, x, p.upperLeft.y() - board.size().y() - 2, p.upperLeft.y() + 2);
    // The last square of the first row is white where there is an even number of them: no line is seen there.
    REQUIRE(static_cast<int>(columns.size()) == board.columns + (isBlack(board.columns - 1, 0) ? 1 : 0));
    REQUIRE(static_cast<int>(rows.size()) == board.rows + (isBlack(0, board.rows - 1) ? 1 : 0));
    for (std::size_t i = 0; i < columns.size(); ++i)
        CHECK(columns[i] == Approx(p.upperLeft.x() + i * board.pitchX_mm).margin(0.05).epsilon(0));
    for (std::size_t i = 0; i < rows.size(); ++i)
        CHECK(rows[rows.size() - 1 - i] ==
              Approx(p.upperLeft.y() - i * board.pitchY_mm).margin(0.05).epsilon(0));
    // Every square: its colour beside the middle, and a dot in the middle where the code has one.
    int wrong = 0, dots = 0;
    for (int row = 0; row < board.rows; ++row)
        for (int column = 0; column < board.columns; ++column) {
            const Vec2 middle =
                p.upperLeft + Vec2((column + 0.5) * board.pitchX_mm, -(row + 0.5) * board.pitchY_mm);
            const bool black = isBlack(column, row);
            const bool dot = board.code == BoardCode::Dots && hasDot(column, row);
            dots += dot ? 1 : 0;
            wrong += (g.darkAt(middle + Vec2(0.4 * board.pitchX_mm, 0)) > 0.5) != black;
            wrong += (g.darkAt(middle) > 0.5) != (black != dot);
            wrong += (g.darkAt(middle + Vec2(0, 0.16 * board.pitchY_mm)) > 0.5) != (black != dot);
        }
    CHECK(wrong == 0);
    CHECK((board.code == BoardCode::Dots) == (dots > 0));
}

Board plain(int columns, int rows, double pitch) {
    Board b;
    b.columns = columns, b.rows = rows, b.pitchX_mm = b.pitchY_mm = pitch;
    return b;
}

}  // namespace

TEST_CASE("a plain board comes out of a PDF at true scale") {
    const Board board = plain(9, 6, 24.0);
    const auto page = boardSheet(board);
    REQUIRE(page);
    const auto bytes = sheet::pdf({*page}, "board");
    REQUIRE(bytes);
    check(painted(*bytes, "board.pdf", "pdftoppm -gray -r 600 -singlefile"), board, page->paper);  // poppler
}

TEST_CASE("a board with dots comes out of an SVG at true scale") {
    Board board = plain(11, 14, 14.0);
    board.pitchY_mm = 14.2;  // as measured: a second print makes up for the printer
    board.code = BoardCode::Dots;
    const auto page = boardSheet(board);
    REQUIRE(page);
    const auto bytes = sheet::svg(*page);
    REQUIRE(bytes);
    check(painted(*bytes, "board.svg",  // librsvg
                  "sh -c 'rsvg-convert -d 600 -p 600 -b white -f pdf \"$0\" | pdftoppm -gray -r 600 "
                  "-singlefile -'"),
          board, page->paper);
}

TEST_CASE("a board takes the smallest paper that holds it, and nothing lies outside or on the board") {
    struct Case {
        int columns, rows;
        double pitch;
        const char* paper;
    };
    for (const Case& c : {Case{9, 6, 24, "A4"}, Case{11, 8, 20, "A4"}, Case{20, 14, 20, "A2"},
                          Case{40, 30, 25, "A0"}, Case{3, 3, 5, "A4"}}) {
        INFO(c.columns << " × " << c.rows << " × " << c.pitch);
        const Board board = plain(c.columns, c.rows, c.pitch);
        const auto page = boardSheet(board);
        REQUIRE(page);
        CHECK(std::string(page->paper.name) == c.paper);
        const BoardPlace p = placeOf(board, page->paper);
        const Vec2 low = p.upperLeft - Vec2(0, board.size().y()),
                   high = p.upperLeft + Vec2(board.size().x(), 0);
        CHECK(low.x() >= 8.0);
        CHECK(high.x() + 5.0 < p.barY.x());
        CHECK(page->paper.height_mm - high.y() >= 8.0);
        for (const auto& item : page->items)
            if (const auto* text = std::get_if<sheet::Text>(&item)) {
                CHECK(text->at.x() >= 7.9);
                CHECK(text->at.y() >= 7.9);
                if (text->angle != 0.0) continue;  // that of the bar in y
                CHECK(text->at.y() + text->height_mm < low.y() - 3.0);
                CHECK(text->at.x() + sheet::widthOf(*text) < page->paper.width_mm - 7.9);
                CHECK(text->at.y() > p.barX.y() - 0.1);
            }
    }
}

TEST_CASE("a board that fits no paper or is none is refused in a sentence") {
    const auto large = boardSheet(plain(100, 80, 20));
    REQUIRE_FALSE(large);
    CHECK(large.error().sentence().find("take fewer or smaller squares") != std::string::npos);
    const auto asked = boardSheet(plain(20, 14, 20), sheet::kA4);
    REQUIRE_FALSE(asked);
    CHECK(asked.error().what.find("A4") != std::string::npos);
    CHECK(boardSheet(plain(9, 6, 20), sheet::kLetter));
    CHECK_FALSE(boardSheet(plain(1, 6, 20)));
    CHECK_FALSE(boardSheet(plain(9, 6, std::nan(""))));
    CHECK_FALSE(boardSheet(plain(9, 6, -3)));
    Board coded = plain(40, 6, 5);
    coded.code = BoardCode::Dots;
    CHECK_FALSE(boardSheet(coded));
}
