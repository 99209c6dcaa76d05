// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/estimate/JointCovariance.h"

#include <algorithm>

namespace trammel::estimate {

/// With P = V⁻¹ W and K the covariance of the kept: Σ_block = V⁻¹ + P K Pᵀ, Σ_kept,block = −K Pᵀ.
void JointCovariance::enter(int block) {
    const auto b = static_cast<std::size_t>(block);
    const std::vector<int>& touched = factor_->touched_[b];
    const auto count = static_cast<Eigen::Index>(touched.size());
    if (touched != gathered_) {
        between_.resize(count, count);
        for (Eigen::Index j = 0; j < count; ++j) {
            const double* column = factor_->kept_.col(touched[static_cast<std::size_t>(j)]).data();
            for (Eigen::Index i = 0; i < count; ++i)
                between_(i, j) = column[touched[static_cast<std::size_t>(i)]];
        }
        gathered_ = touched;
    }
    const Normal::Thin& P = factor_->projections_[b];
    cross_.noalias() = between_ * P.transpose();
    own_ = factor_->inverses_[b];
    own_.noalias() += P * cross_;
    block_ = block;
}

void JointCovariance::of(const std::vector<int>& columns, MatX& out) {
    const int e = factor_->layout_.eliminatedColumns;
    const auto n = static_cast<Eigen::Index>(columns.size());
    out.resize(n, n);
    place_.resize(columns.size());
    for (std::size_t i = 0; i < columns.size(); ++i) {  // eliminated: own index; kept: index among the kept
        place_[i] = columns[i] - e;
        if (columns[i] >= e) continue;
        const int block = factor_->blockOf(columns[i]);
        if (block != block_) enter(block);
        place_[i] = columns[i] - factor_->layout_.blockStart[static_cast<std::size_t>(block)];
    }
    for (Eigen::Index i = 0; i < n; ++i)
        for (Eigen::Index k = 0; k <= i; ++k) {
            const auto a = static_cast<std::size_t>(i), b = static_cast<std::size_t>(k);
            const bool own = columns[a] < e, other = columns[b] < e;
            if (own && other)
                out(i, k) = own_(place_[a], place_[b]);
            else if (!own && !other)
                out(i, k) = factor_->kept_(place_[a], place_[b]);
            else
                out(i, k) = own ? cross(place_[b], place_[a]) : cross(place_[a], place_[b]);
            out(k, i) = out(i, k);
        }
}

double JointCovariance::cross(int kept, int own) const {
    const auto at = std::lower_bound(gathered_.begin(), gathered_.end(), kept);
    if (at != gathered_.end() && *at == kept) return -cross_(at - gathered_.begin(), own);
    double sum = 0.0;  // no row joins the two: by way of those that the block touches
    const Normal::Thin& P = factor_->projections_[static_cast<std::size_t>(block_)];
    for (std::size_t j = 0; j < gathered_.size(); ++j)
        sum -= P(own, static_cast<Eigen::Index>(j)) * factor_->kept_(gathered_[j], kept);
    return sum;
}

}  // namespace trammel::estimate
