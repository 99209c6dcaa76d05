// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/Board.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace trammel::calibrate {

bool hasDot(int column, int row) {
    // Scrambled bits of the square's numbers. The last constant is the best of 3000 tried for the distance
    // that the header promises and the test counts.
    std::uint32_t h = static_cast<std::uint32_t>(column) * 0x8da6b343u ^
                      static_cast<std::uint32_t>(row) * 0xd8163841u ^ 2452u * 0xcb1ab31fu;
    h ^= h >> 15;
    h *= 0x2c1b3c6du;
    h ^= h >> 12;
    h *= 0x297a2d39u;
    h ^= h >> 15;
    return (h & 1u) != 0;
}

Board measuredBoard(int columns, int rows, double width_mm, double height_mm, double plusMinus_mm) {
    Board board;
    board.columns = columns;
    board.rows = rows;
    board.pitchX_mm = width_mm / columns;
    board.pitchY_mm = height_mm / rows;
    board.ratioSigma = 0.5 * std::hypot(plusMinus_mm / width_mm, plusMinus_mm / height_mm);
    return board;
}

std::optional<Error> unusable(const Board& board) {
    const auto bad = [](std::string what, std::string remedy) {
        return Error{ErrorCode::BadValue, std::move(what), "board", std::move(remedy)};
    };
    const int fewest = std::min(board.columns, board.rows), most = std::max(board.columns, board.rows);
    if (fewest < 3 || most > 200)
        return bad(fmt::format("{} by {} squares are no usable board", board.columns, board.rows),
                   "count the squares of a row and of a column, 3 to 200");
    for (const double pitch : {board.pitchX_mm, board.pitchY_mm})
        if (!std::isfinite(pitch) || pitch < 1e-3 || pitch > 1e5)
            return bad(fmt::format("a square of {} mm is no length", pitch), "measure it in mm");
    if (std::abs(std::log(board.pitchX_mm / board.pitchY_mm)) > 0.1)
        return bad(fmt::format("squares of {} by {} mm are none", board.pitchX_mm, board.pitchY_mm),
                   "measure both again over many squares");
    if (!(board.ratioSigma > 0.0 && board.ratioSigma < 0.1))
        return bad("the uncertainty of the squares' ratio is not between 0 and 10 %", "correct it");
    if (board.code == BoardCode::Dots && (fewest < 5 || most > kMostCoded))
        return bad(fmt::format("a coded board has 5 to {} squares a side", kMostCoded),
                   "print another one, or use a plain board");
    return std::nullopt;
}

}  // namespace trammel::calibrate
