// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/calibrate/Board.h"
#include "core/calibrate/BoardModel.h"
#include "core/calibrate/LensRecord.h"

namespace trammel::calibrate {

struct CalibrateOptions {
    /// Which constants are unknown, in the order of LensConstant; `automatic`: principal distance, point and
    /// k1 always, k2, k3, and p1 with p2 where the corners determine them.
    bool automatic = true;
    std::array<bool, 8> open{};
    /// The ratio of the board's pitches and its bow are unknowns with priors. Off: the board is as stated.
    bool uneven = true;
    double bowSigma_mm =
        0.0;           ///< of the height of the board's bow at its corners; 0: 0.3 % of half its diagonal
    bool test = true;  ///< leave out corners and photographs that disagree
    double expected_px = 0.0;   ///< principal distance from EXIF, to start from; 0 unknown
    int width = 0, height = 0;  ///< px of the frame
};

/// Where a corner was found and what it is off by.
struct CornerResidual {
    int i = 0, j = 0;
    Vec2 px = Vec2::Zero(), v = Vec2::Zero();  ///< v: observed less computed, px
    bool dropped = false;
};

struct PhotographResult {
    std::string name;
    bool used = false;
    std::string why;      ///< one sentence where it is not used
    double rms_px = 0.0;  ///< √(Σ|v|²/corners) of the corners that count
    int dropped = 0;
    double tiltX = 0.0, tiltY = 0.0, roll = 0.0;  ///< rad: board against camera, about its x, y and axis
    double scale = 0.0;                           ///< px/mm
    camera::Pose pose;                            ///< of the camera in the board's coordinates
    std::vector<CornerResidual> corners;
};

/// Corners that count, by cells of the frame.
struct Coverage {
    int across = 0, down = 0;
    std::vector<int> counts;
    double reach = 0.0;  ///< of the farthest corner from the middle, in half diagonals of the frame
};

struct Calibration {
    camera::Constants constants;
    Mat8 covariance = Mat8::Zero();  ///< in the order of LensConstant, zeros where held
    std::array<bool, 8> open{};      ///< which constants were unknown
    /// The corners' standard uncertainties times this agree with their residuals; the covariance holds it.
    double factor = 1.0;
    double rms_px = 0.0;  ///< √(Σ|v|²/corners)
    int corners = 0, photographs = 0;
    survey::Measured ratio;      ///< ln of true over stated pitchX / pitchY
    survey::Measured bow;        ///< mm, the largest height of the board's bow at its rim
    double unevenness_mm = 0.0;  ///< σ in x and y of where the print has its corners; 0: not told
    std::vector<PhotographResult> frames;
    Coverage coverage;
    std::vector<std::string> remarks;  ///< sentences: what was left out, what is missing, what is weak
    std::string advice;                ///< the photograph that would help most
    double sigma(LensConstant which) const { return std::sqrt(covariance(which, which)); }
};

/// Least squares over all corners of all photographs: lens, poses, and the board's own unevenness at once
/// (Zhang 2000; Brown's distortion). Gross errors are found by robust weights first and decided by tests of
/// single corners (block test of both coordinates, α = 0.001: Baarda 1968, Teunissen) and of photographs
/// against the others; what is left out is named. The ± of the constants rest on the scatter of the corners.
///
/// Refused in one sentence: fewer than three photographs with twelve corners, photographs too alike to tell
/// the principal distance (naming the motions that are missing), corners in so few parts of the frame that
/// distortion would be made up, or nothing that settles.
Result<Calibration> calibrate(const Board& board, const std::vector<BoardFrame>& frames,
                              const CalibrateOptions& options);

}  // namespace trammel::calibrate
