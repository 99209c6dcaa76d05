// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <map>
#include <utility>
#include <vector>

#include "core/adjust/Network.h"
#include "core/estimate/JointCovariance.h"

namespace trammel::adjust {

/// The rows of one owner put together, whitened.
struct OwnerRows {
    std::vector<estimate::Gradient> J;
    std::vector<double> e, sigma;             ///< observed − computed in σ; the σ
    std::vector<std::pair<int, int>> points;  ///< first component and count of each row
    int station = -1;                         ///< of a mark
    Eigen::Index size() const { return static_cast<Eigen::Index>(e.size()); }
    VecX residual() const { return Eigen::Map<const VecX>(e.data(), size()); }
};

/// How observations hang together at one adjusted state, to first order: with Σ the covariance of the
/// unknowns and J the whitened derivatives, C(a,b) = J_a Σ J_bᵀ. An active observation's residuals have the
/// covariance I − C(a,a), those of one that did not take part I + C(a,a), and what happens when one is left
/// out or taken up follows from these blocks alone (Sherman & Morrison 1950; Baarda 1968). Remembers parts of
/// Σ between calls: not for two threads at once.
class Influence {
  public:
    Influence(const Network& network, const estimate::CovarianceFactor& covariance);

    const Network& network() const { return *network_; }
    const estimate::CovarianceFactor& covariance() const { return *covariance_; }
    bool valid() const { return !rows_.empty(); }
    int owners() const { return static_cast<int>(rows_.size()); }
    const OwnerRows& rows(int owner) const { return rows_[at(owner)]; }
    /// Owners with rows, those of one feature after another: in this order C(a) of all costs least.
    const std::vector<int>& byFeature() const { return byFeature_; }

    MatX C(int a) const;
    MatX C(int a, int b) const;
    /// Covariance of the owner's residuals, as it now is: active or not.
    MatX Q(int a) const;
    /// Σ Jᵀ: one column of all unknowns for each component. Remembered.
    const MatX& shift(int owner) const;

  private:
    const Network* network_;
    const estimate::CovarianceFactor* covariance_;
    std::vector<OwnerRows> rows_;
    std::vector<int> byFeature_;
    mutable estimate::JointCovariance joint_;
    mutable std::vector<int> columns_;  ///< these and below: kept for their memory
    mutable MatX sigma_, dense_;
    mutable VecX product_;
    mutable std::map<int, MatX> shifts_;
};

/// J v for the rows of an owner.
VecX along(const OwnerRows& rows, const VecX& v);

/// Inverse of a covariance of residuals over its controlled directions only (eigenvalue > `least`); how many.
MatX controlledInverse(const MatX& Q, int& rank, double least = 1e-3);

}  // namespace trammel::adjust
