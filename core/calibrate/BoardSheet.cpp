// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/BoardSheet.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <string>
#include <utility>
#include <vector>

namespace trammel::calibrate {

namespace {

// mm. Few printers reach closer than 5 mm to the paper's edge. Margin and gap are also the white around the
// board that keeps its rim clear.
constexpr double kMargin = 8.0, kGap = 6.0, kWords = 26.0, kBarColumn = kBarWidth_mm + 6.0;
constexpr int kDiscSides = 96;  // the polygon's area is that of the disc within 0.1 %

/// What board, bars and words take up, margins included. The bar in y stands to the right of the board and
/// may reach down beside the words.
Vec2 needed(const Board& board) {
    const Vec2 size = board.size();
    return {2 * kMargin + std::max(size.x(), kBarLength_mm) + kGap + kBarColumn,
            2 * kMargin + std::max(size.y() + kGap + kWords, kBarLength_mm)};
}

bool fits(const Vec2& size, const sheet::Paper& paper) {
    return size.x() <= paper.width_mm && size.y() <= paper.height_mm;
}

/// The paper upright or lying, whichever holds the size; as the size itself lies where both do.
std::optional<sheet::Paper> holding(const Vec2& size, const sheet::Paper& paper) {
    std::array<sheet::Paper, 2> ways = {paper, sheet::lying(paper)};
    if (size.x() > size.y()) std::swap(ways[0], ways[1]);
    for (const sheet::Paper& way : ways)
        if (fits(size, way)) return way;
    return std::nullopt;
}

void addSquares(sheet::Sheet& page, const Board& board, const Vec2& upperLeft) {
    const auto at = [&](double column, double row) {
        return Vec2(upperLeft.x() + column * board.pitchX_mm, upperLeft.y() - row * board.pitchY_mm);
    };
    const double radius = 0.5 * kDotDiameter * std::min(board.pitchX_mm, board.pitchY_mm);
    for (int row = 0; row < board.rows; ++row)
        for (int column = 0; column < board.columns; ++column) {
            const bool black = isBlack(column, row);
            if (black)
                page.add(sheet::Area{
                    {at(column, row), at(column + 1, row), at(column + 1, row + 1), at(column, row + 1)}});
            if (board.code != BoardCode::Dots || !hasDot(column, row)) continue;
            sheet::Area disc;
            disc.colour = black ? sheet::kWhite : sheet::kBlack;
            for (int k = 0; k < kDiscSides; ++k) {
                const double a = 2 * std::numbers::pi * k / kDiscSides;
                disc.points.push_back(at(column + 0.5, row + 0.5) + radius * Vec2(std::cos(a), std::sin(a)));
            }
            page.add(disc);
        }
}

void addBar(sheet::Sheet& page, const Vec2& corner, const Vec2& size) {
    page.add(sheet::Area{{corner, corner + Vec2(size.x(), 0), corner + size, corner + Vec2(0, size.y())}});
}

/// Words from the top down, each with a line of its own, from a given base line on.
void addWords(sheet::Sheet& page, Vec2 at, double width, const std::vector<std::string>& sentences) {
    constexpr double kHeight = 2.5, kStep = 4.4;
    for (const std::string& words : sentences)
        for (const std::string& line : sheet::brokenToWidth(words, kHeight, width)) {
            page.add(sheet::Text{at, line, kHeight});
            at.y() -= kStep;
        }
}

}  // namespace

BoardPlace placeOf(const Board& board, const sheet::Paper& paper) {
    const double right = paper.width_mm - kMargin - kBarWidth_mm;
    const double forBoard = paper.width_mm - 2 * kMargin - kGap - kBarColumn;
    const double spare = paper.height_mm - 2 * kMargin - kGap - kWords - board.size().y();
    return {
        {kMargin + (forBoard - board.size().x()) / 2, paper.height_mm - kMargin - std::max(0.0, spare) / 2},
        {kMargin, kMargin},
        {right, paper.height_mm - kMargin - kBarLength_mm}};
}

Result<sheet::Sheet> boardSheet(const Board& board, const std::optional<sheet::Paper>& paper) {
    if (const auto bad = unusable(board)) return *bad;
    const Vec2 size = needed(board);
    std::optional<sheet::Paper> chosen;
    if (paper)
        chosen = holding(size, *paper);
    else
        for (const auto& p : {sheet::kA4, sheet::kA3, sheet::kA2, sheet::kA1, sheet::kA0})
            if ((chosen = holding(size, p))) break;
    if (!chosen)
        return Error{ErrorCode::Refused,
                     fmt::format("with its bars it takes {:.0f} × {:.0f} mm, more than {} holds", size.x(),
                                 size.y(), paper ? paper->name : sheet::kA0.name),
                     "board", "take fewer or smaller squares"};
    sheet::Sheet page;
    page.paper = *chosen;
    const BoardPlace place = placeOf(board, *chosen);
    addSquares(page, board, place.upperLeft);
    addBar(page, place.barX, {kBarLength_mm, kBarWidth_mm});
    addBar(page, place.barY, {kBarWidth_mm, kBarLength_mm});
    page.add(sheet::Text{place.barX + Vec2(kBarLength_mm + 2, 0.3), "X bar, 100 mm", 2.5});
    page.add(sheet::Text{place.barY + Vec2(-1.5, kBarLength_mm / 2), "Y bar, 100 mm", 2.5,
                         sheet::Anchor::Middle, std::numbers::pi / 2});
    addWords(
        page, place.barX + Vec2(0, kWords - 3), chosen->width_mm - 2 * kMargin - kBarColumn - kGap,
        {fmt::format("Board of {} by {} squares, {:g} × {:g} mm, {}. Print at 100 %, not fitted to the page, "
                     "and stick it flat on glass or a plate.",
                     board.columns, board.rows, board.pitchX_mm, board.pitchY_mm,
                     board.code == BoardCode::Dots ? "with dots" : "plain"),
         "Measured over the ends of the bars:   X ______________ mm     Y ______________ mm",
         fmt::format("Measured over all squares:   {} along ______________ mm     {} down ______________ mm",
                     board.columns, board.rows)});
    return page;
}

}  // namespace trammel::calibrate
