// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <functional>
#include <vector>

#include "core/fit/Strip.h"

namespace trammel::fit {

/// How an edge scatters along itself: the standard deviation of one sub-stretch against a smooth curve, the
/// correlation of neighbours, and the degrees of freedom it rests on. Noise that JPEG or texture correlates
/// between pixels shows here and not in the pixels' own residuals.
struct Scatter {
    double perBin = 0.0;
    double correlation = 0.0;  ///< of neighbouring bins, only when significant
    double dof = 0.0;

    /// Variance (px²) of the mean of `bins` neighbouring sub-stretches.
    double varianceOfMean(double bins) const;
};

/// Residuals of bins, ordered along the edge, against the least-squares curve Σ c_k·shape_k(s).
Scatter scatterOf(const std::vector<StripBin>& bins,
                  const std::vector<std::function<double(double)>>& shapes);

/// σ of one of `points` points of a feature, from the scatter and from the pixels' formal σ (worth a few
/// degrees of freedom itself), widened by Student's factor so that k = 2 covers 95 %. `common` is what
/// moves the whole feature without showing in its scatter. Points are handed on as independent, so it is
/// spread over them such that their mean still carries it.
double pointSigma(const Scatter& scatter, double bins, double formalSigma, double common, std::size_t points);

}  // namespace trammel::fit
