// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Advice.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// The dimensions that matter, and how a set of variances is judged (see core/adjust/Advice.h).
class Goal {
  public:
    /// Refused when the survey states no dimension that can be computed and may still shrink.
    static Result<Goal> of(const Solution& solution);

    struct Wanted {
        survey::Dimension dimension;
        estimate::Gradient gradient;
        double widen = 1.0;   ///< ± per standard uncertainty of the gradient
        double weight = 1.0;  ///< figure per ±
    };
    const std::vector<Wanted>& wanted() const { return wanted_; }
    bool byTarget() const { return byTarget_; }

    /// The smaller, the better: the largest figure, and a little of all.
    double score(const VecX& variances) const;
    /// The p-norm of all figures: between the sum of squares and the largest.
    double norm(const VecX& variances, double p) const;
    double figureOf(std::size_t i, const VecX& variances) const;
    Judged judged(std::size_t i, const VecX& variances) const;
    std::size_t worst(const VecX& variances) const;

  private:
    std::vector<Wanted> wanted_;
    bool byTarget_ = false;
};

}  // namespace trammel::adjust
