// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "core/base/Result.h"
#include "core/calibrate/Board.h"
#include "core/sheet/Sheet.h"

namespace trammel::calibrate {

/// A board to print at true scale, with a bar of 100 mm in x and one in y to measure what the printer made of
/// it, and room to write the measured pitches down. Square (0, 0) is at the upper left.
///
/// Without a paper it is the smallest of A4 to A0, upright or lying, that holds board, bars and words; on a
/// given one it is turned as fits. BadValue where the board is unusable (Board.h); Refused where it fits no
/// paper or not the one that was asked for.
Result<sheet::Sheet> boardSheet(const Board& board, const std::optional<sheet::Paper>& paper = std::nullopt);

/// Where it puts things, mm from the lower left corner of the paper; for tests and for a preview.
struct BoardPlace {
    Vec2 upperLeft;   ///< of square (0, 0)
    Vec2 barX, barY;  ///< lower left corners of the bars
};
inline constexpr double kBarLength_mm = 100.0, kBarWidth_mm = 3.0;
BoardPlace placeOf(const Board& board, const sheet::Paper& paper);

}  // namespace trammel::calibrate
