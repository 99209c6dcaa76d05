// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/base/Result.h"
#include "core/calibrate/Board.h"
#include "core/calibrate/FindBoard.h"
#include "core/photo/Image.h"

namespace trammel::calibrate {

/// Inner corners as found in a picture, row by row, before it is known which way round the board lies.
struct Grid {
    int across = 0, down = 0;
    std::vector<Vec2> px;
    const Vec2& at(int i, int j) const { return px[static_cast<std::size_t>(j * across + i)]; }
};

/// Numbers of a plain board: of the turns that fit its size, right-handed, with its colours where one has
/// them, the one with x most to the right in the picture. Refused where the squares' own colours do not
/// alternate.
Result<std::vector<SeenCorner>> numberPlain(const Grid& grid, const Board& board, const photo::Image& image);

/// Numbers by the dots in the middle of squares between four corners: the shift and turn that agree with the
/// map in nine of ten dots at least, and clearly better than any other. Corners beyond the board's own
/// (clutter that was taken for squares) are left out.
Result<std::vector<SeenCorner>> numberByDots(const Grid& grid, const Board& board, const photo::Image& image);

/// Whether squares of alternating colour run on beyond the grid's own outer squares on any side: then the
/// grid is part of a larger board.
bool squaresGoOn(const Grid& grid, const photo::Image& image);

}  // namespace trammel::calibrate
