// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/base/Result.h"
#include "core/calibrate/Board.h"
#include "core/photo/Image.h"

namespace trammel::calibrate {

/// An inner corner of the board, roughly where the picture shows it (within a pixel or so).
struct SeenCorner {
    int i = 0, j = 0;        ///< as in Board::corner
    Vec2 px = Vec2::Zero();  ///< of the picture given
};

/// Looks for the board: a grid of saddle points by OpenCV's findChessboardCornersSB (Duda & Frese 2018), else
/// by findChessboardCorners, in a picture shrunk to a long side of about 1600 px. The grid is numbered so
/// that colours agree with the board and x × y points into it; of the turns that leave a plain board as it
/// is the one with x most to the right. A coded board is numbered by its dots and may be seen in part.
///
/// Refused in one sentence: no board, one of other numbers of squares (with the numbers found), a mirrored
/// picture of a coded board, too few squares to read the dots.
Result<std::vector<SeenCorner>> findBoard(const photo::Image& image, const Board& board);

}  // namespace trammel::calibrate
