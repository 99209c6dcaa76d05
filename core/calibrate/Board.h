// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "core/base/Error.h"
#include "core/math/Types.h"

namespace trammel::calibrate {

/// Whether squares carry dots that tell where on the board they lie.
enum class BoardCode {
    Plain,  ///< squares only; a photograph must show all of them
    Dots,   ///< see `hasDot`; a photograph may show any part of at least 5 × 5 squares
};

/// A flat board of squares, alternately black and white like a chessboard. Square (0, 0) is the upper left
/// one and black; columns run right, rows down. Board coordinates in mm: origin at the upper left corner of
/// square (0, 0), x right, y down, z into the board, so that a camera square to an upright board has
/// R = identity.
struct Board {
    int columns = 0, rows = 0;  ///< squares, not the corners between them
    /// Pitch of the columns along x and of the rows along y, mm, as measured on the board in use over as many
    /// squares as the rule spans: a printer's scale is off by up to 2 %, and by another share in x than in y.
    double pitchX_mm = 0.0, pitchY_mm = 0.0;
    /// Standard uncertainty of the ratio of both pitches (relative); what both share is told by no photograph
    /// and moves no constant of the lens.
    double ratioSigma = 5e-4;
    BoardCode code = BoardCode::Plain;

    /// Inner corners: where four squares meet. Corner (i, j) is the lower right one of square (i, j).
    int cornerColumns() const { return columns - 1; }
    int cornerRows() const { return rows - 1; }
    Vec2 corner(int i, int j) const { return {(i + 1) * pitchX_mm, (j + 1) * pitchY_mm}; }
    Vec2 size() const { return {columns * pitchX_mm, rows * pitchY_mm}; }
};

/// The board with pitches from its whole width over all columns and its whole height over all rows, mm, each
/// read with this ± (mm, k = 2), which becomes the uncertainty of their ratio.
Board measuredBoard(int columns, int rows, double width_mm, double height_mm, double plusMinus_mm);

inline bool isBlack(int column, int row) { return ((column + row) & 1) == 0; }

/// A dot is a disc of the other colour in the middle of a square, its diameter this share of the smaller
/// pitch: far enough from the sides not to disturb their fit, and still 4 px where a square has 12.
inline constexpr double kDotDiameter = 0.36;

/// Most squares a side of a coded board.
inline constexpr int kMostCoded = 32;

/// Which squares of a coded board carry a dot: one map for boards of all sizes, so that a board is described
/// by its columns and rows. About half do, scattered such that any 5 × 5 squares differ in three dots at
/// least from any other 5 × 5 of the map in any of the four turns that leave black on black.
bool hasDot(int column, int row);

/// One sentence where the numbers describe no usable board: fewer than 3 squares or more than 200 a side, a
/// pitch that is no length, pitches that differ by more than 10 %, a coded board of more than `kMostCoded` or
/// fewer than 5.
std::optional<Error> unusable(const Board& board);

}  // namespace trammel::calibrate
