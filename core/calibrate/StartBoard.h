// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/calibrate/BoardModel.h"

namespace trammel::calibrate {

/// First values for the problem's unknowns: the photographs' homographies, from them the principal distance
/// with the principal point in the middle of the frame (Zhang 2000, section 3.1), and poses. Other principal
/// distances are tried as well, `expected` px (from EXIF; 0 unknown) among them, and of a photograph's two
/// tilts that a long lens hardly parts the better one is kept. False where no start settles.
bool startBoard(BoardProblem& problem, const Vec2& frameMiddle, double expected);

/// Turns each photograph's tilt over and keeps it where that fits better, all shared unknowns held. True when
/// one was turned.
bool turnTilts(BoardProblem& problem);

}  // namespace trammel::calibrate
