// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/fit/Tone.h"
#include "core/math/Types.h"

namespace trammel::fit {

/// One original pixel beside a guide: s along (of a stretch: from its middle), d across, code 0..1 (see
/// Tone).
struct StripPixel {
    double s = 0.0, d = 0.0, code = 0.0;
};

/// What the model of one stretch holds. Light at distance x = d − offset − slope·s is
/// low(s)·(1 − S(x)) + high(s)·S(x), each plateau constant or linear along s, plus a further step for each
/// companion edge, with S of Step.h; the tone makes it the code that is compared with the pixel's.
struct StripModel {
    Vec2 normal = Vec2::UnitX();  ///< of the guide in the middle of the stretch
    double blur = 1.0;            ///< px; start value, or the value itself when fixed
    bool fixedBlur = false;
    bool tilts = true;               ///< slope and linear plateaus are estimated
    std::vector<double> companions;  ///< d of neighbouring edges inside the strip (start values)
    Tone tone;
    double binLength = 4.0;  ///< px along s of the sub-stretches whose scatter tells the real σ
};

struct StripBin {
    double s = 0.0, offset = 0.0;
};

struct StripFit {
    double offset = 0.0, slope = 0.0, blur = 0.0, low = 0.0, high = 0.0;
    double offsetSigma = 0.0;  ///< as if the pixels' noise were independent
    double blurSigma = 0.0;
    double blurPull = 0.0;  ///< how far the offset follows the blur, where both are estimated
    double noise = 0.0;     ///< robust standard deviation of the residuals, in codes 0..1
    double clipped = 0.0;   ///< share of the brighter plateau's pixels at full scale
    int pixels = 0;
    std::vector<StripBin> bins;
};

/// Robust least squares (Cauchy weights) over all pixels of a stretch at once, by Levenberg–Marquardt with
/// analytic derivatives. nullopt when it does not settle, or when the pixels cannot tell.
std::optional<StripFit> fitStrip(const std::vector<StripPixel>& pixels, double length,
                                 const StripModel& model);

}  // namespace trammel::fit
