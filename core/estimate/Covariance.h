// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <utility>
#include <vector>

#include "core/estimate/Normal.h"

namespace trammel::estimate {

/// Derivative of a scalar function by the unknowns, sparse: (column, value), repeats add.
using Gradient = std::vector<std::pair<int, double>>;

/// Why no covariance exists: one direction of the unknowns that the observations leave free.
struct RankDefect {
    std::vector<std::pair<int, double>> direction;  ///< columns with the largest share, largest first
    bool block = false;  ///< true: a single eliminated block is undetermined even with all else known
};

/// Covariance of the unknowns, N⁻¹, in factored form: any block or function on demand, never the full matrix.
class CovarianceFactor {
  public:
    /// From assembled normal equations. On a rank defect `defect` is filled and the factor is unusable.
    CovarianceFactor(const Normal& normal, RankDefect& defect);

    bool valid() const { return valid_; }
    /// Ratio of the extreme eigenvalues of the reduced, column-scaled normal matrix: computed when asked for
    /// (a cube of the kept unknowns). 0 for an extended factor.
    double conditionNumber() const;

    /// The factor after further observations `added` (whitened rows at the same state), which may have
    /// `fresh` unknowns of their own: columns from the present number on. Exact for the linearised problem,
    /// at a cost that grows with what is added and not with what was observed before: each eliminated block
    /// takes its rows up by the Woodbury identity, and what they say of the kept unknowns is summed into the
    /// Schur complement. On a rank defect (the
    /// rows leave a fresh unknown free) the result is not valid().
    CovarianceFactor extended(const std::vector<Rows>& added, int fresh) const;

    /// Variance of a function; covariance of two functions; joint covariance of several.
    double variance(const Gradient& f) const;
    MatX covariance(const std::vector<Gradient>& functions) const;

    /// Σ f over all columns: covariance of the function with every unknown; its product with another gradient
    /// is the covariance of the two functions. Costs one pass over the factor.
    VecX times(const Gradient& f) const;

  private:
    bool invert(const MatX& scaled);
    struct Split {
        std::vector<std::pair<int, double>> kept;  ///< sparse, in kept columns, sorted
        std::vector<std::pair<int, VecX>> own;     ///< block index, its part of the gradient
    };
    Split split(const Gradient& f) const;
    double inner(const Split& a, const Split& b) const;
    int blockOf(int column) const;
    void takeUp(int block, const std::vector<const Rows*>& rows);
    bool invertReduced();

    Layout layout_;
    std::vector<Normal::Small> inverses_;    ///< V⁻¹
    std::vector<Normal::Thin> projections_;  ///< V⁻¹ W
    std::vector<std::vector<int>> touched_;
    MatX reduced_;  ///< normal matrix of the kept unknowns after elimination
    MatX kept_;     ///< its inverse: Σ of the kept unknowns
    VecX scale_;    ///< of the kept columns, for the condition number
    bool valid_ = false;

    friend class JointCovariance;
};

}  // namespace trammel::estimate
