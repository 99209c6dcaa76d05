// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/estimate/Covariance.h"

namespace trammel::estimate {

/// Σ of a few unknowns at a time, for many calls. Remembers what the eliminated block of the last call has to
/// do with the kept unknowns: calls that follow one another about the same block cost no more than the
/// entries they return, so that all marks of a survey can be tested at a cost that grows with their number.
/// Not for two threads at once; make one each.
class JointCovariance {
  public:
    explicit JointCovariance(const CovarianceFactor& factor) : factor_(&factor) {}

    /// Σ over these columns (each 0 or above, none twice, of at most one eliminated block), in their order.
    void of(const std::vector<int>& columns, MatX& out);

  private:
    void enter(int block);
    double cross(int kept, int own) const;

    const CovarianceFactor* factor_;
    int block_ = -1;
    MatX own_;      ///< Σ of the block
    MatX cross_;    ///< touched × size: −Σ between the kept unknowns that the block touches and the block
    MatX between_;  ///< Σ of the touched, with the list that it was gathered for
    std::vector<int> gathered_, place_;
};

}  // namespace trammel::estimate
