// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/estimate/Covariance.h"

namespace trammel::estimate {

/// The covariance that planned observations of single functions would leave, before any is made: it depends
/// on their σ and not on what they will read. Each is one exact rank-one update (Sherman & Morrison 1950): Σ'
/// = Σ − u uᵀ with u = Σ f / √(σ² + fᵀ Σ f). The factor must outlive it. Cheap to copy for a look ahead: a
/// vector for each observation planned.
class Planned {
  public:
    explicit Planned(const CovarianceFactor& factor) : factor_(&factor) {}

    /// Σ' f over all columns.
    VecX times(const Gradient& f) const;
    double variance(const Gradient& f) const;
    /// Takes up an observation of f with standard uncertainty σ > 0.
    void observe(const Gradient& f, double sigma);

  private:
    const CovarianceFactor* factor_;
    std::vector<VecX> taken_;  ///< the u of each observation
};

/// Product of a gradient with a vector over all columns; fixed parameters (column −1) count nothing.
double dot(const Gradient& f, const VecX& v);

}  // namespace trammel::estimate
