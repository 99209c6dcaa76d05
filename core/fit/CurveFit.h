// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/base/Result.h"
#include "core/fit/EdgeFit.h"
#include "core/fit/Guide.h"
#include "core/fit/Scatter.h"
#include "core/fit/Strip.h"
#include "core/photo/Image.h"

namespace trammel::fit {

/// One stretch of a curve with its fit; offsets are corrected for the guide's curvature.
struct Stretch {
    double s0 = 0.0, s1 = 0.0;
    StripFit fit;
    double middle() const { return 0.5 * (s0 + s1); }
    double length() const { return s1 - s0; }
};

struct CurveFit {
    std::vector<Stretch> stretches;  ///< those that could be fitted, in order along the guide
    int wanted = 0;                  ///< stretches tried
    int wrongSign = 0;               ///< stretches whose step ran the other way
    double blurSigma = 0.0;          ///< px, of the blur, from the pieces' formal σ or their scatter
    Channel channel = Channel::Luma;
    double blur = 0.0, contrast = 0.0, noise = 0.0, clipped = 0.0;
    double codes = 0.0;          ///< step height in codes, 0..255
    double common = 0.0;         ///< px, doubt common to the whole curve
    std::vector<StripBin> bins;  ///< s along the whole guide
    double binLength = 0.0;
};

struct CurveOptions {
    int stretches = 4;
    double sign = 1.0;       ///< of the step along +d
    double binLength = 6.0;  ///< px
    bool tilts = true;
    double blurStart = 1.2;           ///< px
    Channel channel = Channel::Luma;  ///< chosen by fitAlong, and the tone with it
    Tone tone{};
};

/// Fits the step along a guide that already lies within about a pixel of the edge. The blur is estimated from
/// a few long stretches first and then held, because a short stretch cannot tell it. A Gaussian blur shifts
/// the half-way contour of a disc of curvature κ inwards by σ²κ/2 (the heat equation's first order); offsets
/// are given with that shift, pixel included (σ² + 1/12), undone.
CurveFit fitAlong(const photo::LinearImage& image, const Guide& guide, const CurveOptions& options);

/// Of a guide that lies on the edge: drops stretches that leave it by far (a glint, a crossing edge), and
/// their bins with them.
void dropStrays(CurveFit& curve);

/// The stretches as points of a mark, each with its σ from the scatter along the curve.
Fit fitOf(const CurveFit& curve, const Guide& guide, const Scatter& scatter, double binLength);

/// Refusals shared by edges and rims: flat, saturated, drowned in noise. `wanted` points at least must stand.
std::optional<Error> refusal(const CurveFit& curve, std::size_t least);

/// Error with code Refused.
Error refuse(std::string what, std::string remedy);

}  // namespace trammel::fit
