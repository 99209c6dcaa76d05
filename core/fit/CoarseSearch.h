// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <functional>
#include <vector>

#include "core/fit/Guide.h"
#include "core/photo/Image.h"

namespace trammel::fit {

/// Steepness of the picture across a guide: for each profile the derivative of light along +d, smoothed by a
/// Gaussian of 1 px, at equal steps. Profiles that leave the picture are left out.
struct Profiles {
    static constexpr double kStep = 0.5;  ///< px between samples
    double reach = 0.0;                   ///< samples span −reach..reach
    int wanted = 0;                       ///< profiles asked for
    int perProfile = 0;
    std::vector<double> s;     ///< where the kept profiles lie along the guide
    std::vector<float> steep;  ///< s.size() · perProfile
    double typical = 0.0;      ///< median over the profiles of their greatest |steepness|

    /// Linear interpolation; 0 beyond the reach.
    double at(std::size_t profile, double d) const;
};

Profiles sampleProfiles(const photo::LinearImage& image, const Guide& guide, double reach_px);

/// How the true edge may differ from the guide: d(s) = Σ coefficient_k · shape_k(s).
struct Family {
    std::vector<std::function<double(double)>> shapes;
    std::vector<double> reach;  ///< px, largest |coefficient| of each shape
};

/// Off by a parabola along a guide of this length: shapes for its value at both ends and in the middle.
Family parabolas(double length, double reach);

/// An edge that the search found.
struct Candidate {
    std::vector<double> coefficients;
    double support = 0.0;  ///< −1..1 with the sign of the step along +d; 1: as steep as is typical all along
    double misfit = 0.0;   ///< Σ (offset / hand σ)² over the hand's points
    double odds = 0.0;     ///< natural logarithm of the belief that the hand meant this one
    double offset(const Family& family, double s) const;
};

/// Tries every member of the family on a grid of half a pixel and keeps the local extremes of the summed
/// steepness (its root, so that a glint cannot outvote a long faint edge). The belief weighs how steep an
/// edge is against how far it lies from the `hand` points (their s on the guide) with standard error
/// `handSigma_px`. The first is the likeliest. Empty when nothing stands out.
std::vector<Candidate> searchEdges(const Profiles& profiles, const Family& family,
                                   const std::vector<double>& hand, double handSigma_px);

/// The likeliest edge, first, and those that `handPoints` points of a hand may have meant as well: not much
/// less likely, or within reach of the hand, and edges of their own.
std::vector<Candidate> plausibleEdges(const std::vector<Candidate>& candidates, const Family& family,
                                      const Profiles& profiles, std::size_t handPoints);

/// Root of the mean square of how far apart two members lie, px.
double rmsDistance(const Family& family, const Candidate& a, const Candidate& b, const Profiles& profiles);

/// Per profile the steepest place within ±`window_px` of the candidate (parabola through three samples);
/// only profiles whose step has the candidate's sign and a fair share of the typical steepness.
std::vector<Local> traceEdge(const Profiles& profiles, const Family& family, const Candidate& candidate,
                             double window_px);

}  // namespace trammel::fit
