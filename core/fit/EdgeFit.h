// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <optional>
#include <vector>

#include "core/base/Result.h"
#include "core/fit/Rivals.h"
#include "core/fit/Tone.h"
#include "core/math/Types.h"
#include "core/photo/Image.h"
#include "core/survey/Survey.h"

/// Hand marks say which edge; the picture says where. A fit looks for the meant edge near the hand, models
/// each stretch of it as a step blurred by a Gaussian and integrated over the pixels, in linear light,
/// compares the codes that this gives (Tone.h), and estimates it from all original pixels of the stretch at
/// once. What is too thin is refused (ErrorCode::Refused, one sentence); coordinates that are not finite or
/// coincide give ErrorCode::BadValue.
namespace trammel::fit {

/// A point of a fitted edge or rim with its standard uncertainty across it (px).
struct FitPoint {
    Vec2 px = Vec2::Zero();
    double sigma_px = 0.0;
    Vec2 growth_px = Vec2::Zero();  ///< towards the dark side, see Growth.h and survey::MarkPoint
};

/// A feature located by the image. Points are independent of each other: each comes from its own stretch of
/// the edge, in original pixels, so that lens distortion needs no undoing before the fit.
struct Fit {
    std::vector<FitPoint> points;
    double blur_px = 0.0;       ///< standard deviation of the step's Gaussian blur, without the pixel's own
    double blurSigma_px = 0.0;  ///< its standard uncertainty
    double contrast = 0.0;      ///< step height in linear light, 0..1
    Channel channel = Channel::Luma;  ///< what was measured; contrast is in this channel's light
    double noise = 0.0;               ///< of the codes 0..1, about the model
    double common_px = 0.0;  ///< the part of the points' σ that they share, as their mean carries it
    double formal_px = 0.0;  ///< σ of a point from the noise alone
    int samples = 0;         ///< sub-stretches that support the fit
};

struct FitOptions {
    double searchRadius_px = 6.0;  ///< how far the hand may be off
    double handSigma_px = 2.0;     ///< standard error of a hand point, to weigh two edges against each other
    int stretches = 4;  ///< points wanted along an edge; rim points wanted of a hole are 3 times this
    survey::Transition transition = survey::Transition::Sharp;  ///< decides between two lines of the edge
    double transition_px = 0.0;                                 ///< its width, of round ones
    std::optional<Vec2>
        inside{};  ///< a place on the side of the middle, for inner and outer lines of edges and arcs
    /// What the user chose of the rivals handed out before; of a corner one for either edge.
    std::array<std::optional<Rival>, 2> chosen{};
};

/// Straight edge near the stroke from → to. At least two points, in order along the stroke. Refused between
/// rivals, it hands them out in `rivals`, as the other fits do.
Result<Fit> fitEdge(const photo::LinearImage& image, const Vec2& from, const Vec2& to,
                    const FitOptions& options = {}, std::vector<Rival>* rivals = nullptr);

/// Rim of a hole (or arc) near hand-placed rim points (at least 3 for a hole's circle-like ellipse).
/// `wholeRim` false: only the part between the first and the last point, passing the others, is used.
/// Where the wall of a hole shows as a second rim, the one nearer to the hand is meant.
Result<Fit> fitRim(const photo::LinearImage& image, const std::vector<Vec2>& rim, bool wholeRim,
                   const FitOptions& options = {}, std::vector<Rival>* rivals = nullptr);

/// Corner near `at` as the intersection of its two fitted edges; `alongA`, `alongB`: points on either edge.
/// One point comes back with σ in x and y (the larger of the two axes).
Result<Fit> fitCorner(const photo::LinearImage& image, const Vec2& at, const Vec2& alongA, const Vec2& alongB,
                      const FitOptions& options = {}, std::vector<Rival>* rivals = nullptr);

}  // namespace trammel::fit
