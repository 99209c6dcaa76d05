// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/calibrate/BoardModel.h"
#include "core/calibrate/FindBoard.h"
#include "core/fit/EdgeFit.h"
#include "core/photo/Image.h"

namespace trammel::calibrate {

/// A square's side between two neighbouring corners (or from an outer corner to the board's rim), fitted to
/// the picture.
struct Side {
    int i = 0, j = 0;                   ///< corner that it starts from; −1: the rim before the first
    bool down = false;                  ///< runs to corner (i, j + 1), else to (i + 1, j)
    std::vector<fit::FitPoint> points;  ///< px of the picture
    Vec2 toLight = Vec2::Zero();        ///< unit vector across it
    double blur_px = 0.0;               ///< with the pixel's own square
};

/// A photograph's board as its picture holds it: sides by core/fit, and corners as cornerSubPix has them for
/// where sides are refused.
struct LocatedBoard {
    std::vector<SeenCorner> coarse;  ///< cornerSubPix, px of the picture
    std::vector<Side> sides;
    int tried = 0;  ///< sides
};
LocatedBoard locateSides(const photo::LinearImage& image, const std::vector<SeenCorner>& seen);

/// Corners where the lines of two opposite pairs of sides cross: whatever moves all sides towards their
/// light or their dark (another tone curve, ink that ran) moves the two sides of a pair apart and leaves
/// their common line. Sides bend with the lens: with `lens` given they are straightened first, without they
/// are taken as straight over two squares, which is for a first round. σ from the sides' own; a corner with
/// a side refused is that of cornerSubPix with σ = kCoarseSigma. Picture px.
inline constexpr double kCoarseSigma = 0.15;
struct LocatedCorner {
    BoardCorner corner;
    bool fitted = false;
};
std::vector<LocatedCorner> cornersOf(const LocatedBoard& located,
                                     const std::optional<camera::Constants>& lens = std::nullopt);

/// How far sides lie towards their light, from the line between their own corners: px for each px of blur,
/// apart from a share of the squares' size (ink that ran), by least squares over all sides of all
/// photographs. σ 0 where fewer than 40 sides tell.
struct SideShift {
    double shift_px = 0.0, sigma_px = 0.0, blur_px = 0.0, length_px = 0.0;
};
std::vector<SideShift> shiftsOf(const LocatedBoard& located, const std::vector<LocatedCorner>& corners,
                                const std::optional<camera::Constants>& lens);
survey::Measured growthOf(const std::vector<SideShift>& shifts);

}  // namespace trammel::calibrate
