// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "core/calibrate/Calibrate.h"
#include "core/estimate/Covariance.h"

/// What a calibration is worth: ± of its constants, what the photographs leave open, the next one to take.
namespace trammel::calibrate {

struct FrameSizePx {
    int width = 0, height = 0;
};

/// Covariance of the constants in the order of LensConstant from that of the problem's unknowns.
Mat8 covarianceOfConstants(const BoardProblem& problem, const estimate::CovarianceFactor& covariance);

/// Largest height of the bow at the board's corners and the middles of its sides, with its σ, mm.
survey::Measured bowOf(const BoardProblem& problem, const estimate::CovarianceFactor& covariance,
                       const Board& board);

/// Pose, scale and residuals of the problem's photograph of this number.
void describeFrame(const BoardProblem& problem, std::size_t frame, PhotographResult& out);

/// Which motions the photographs lack, as orders to the photographer; empty when none.
std::vector<std::string> missingMotions(const BoardProblem& problem);

/// Refusal where all photographs show the board from one direction: the homographies of parallel planes say
/// the same of the principal distance.
std::optional<Error> tooAlike(const BoardProblem& problem);
Error alikeRefusal(const BoardProblem& problem);

/// The finished calibration with coverage, remarks and advice; or a refusal for thin coverage or a principal
/// distance known to no better than 2 %.
Result<Calibration> judge(Calibration calibration, const BoardProblem& problem, FrameSizePx frame);

/// The photograph, of tilts both ways, a turn by 90°, a nearer one, and places in the frame, that would
/// shrink the constants' ± most (determinant of their covariance after planned observations).
std::string adviseNext(const BoardProblem& problem, const Board& board, FrameSizePx frame);

}  // namespace trammel::calibrate
