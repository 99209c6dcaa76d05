// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/estimate/Covariance.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>

namespace trammel::estimate {
namespace {

/// Relative eigenvalue under which a direction counts as free: far under the 1e-9 of a real but weak network.
constexpr double kRankTolerance = 1e-13;

/// Bound of the condition number under which Cholesky's inverse is trusted.
constexpr double kSurelySound = 1e10;

std::vector<std::pair<int, double>> largestShares(const VecX& direction, int offset) {
    std::vector<std::pair<int, double>> shares;
    for (Eigen::Index i = 0; i < direction.size(); ++i)
        shares.emplace_back(offset + static_cast<int>(i), direction[i]);
    std::sort(shares.begin(), shares.end(),
              [](const auto& a, const auto& b) { return std::abs(a.second) > std::abs(b.second); });
    const double least = shares.empty() ? 0.0 : 0.1 * std::abs(shares.front().second);
    while (!shares.empty() && std::abs(shares.back().second) < least) shares.pop_back();
    return shares;
}

}  // namespace

CovarianceFactor::CovarianceFactor(const Normal& normal, RankDefect& defect) : layout_(normal.layout()) {
    int singular = -1;
    MatX S = normal.reduced(inverses_, singular);
    if (singular >= 0) {
        const auto& block = normal.blocks()[static_cast<std::size_t>(singular)];
        const Eigen::SelfAdjointEigenSolver<Normal::Small> eigen(block.V);
        defect.direction = largestShares(eigen.eigenvectors().col(0), block.start);
        defect.block = true;
        return;
    }
    const Eigen::Index kept = layout_.kept();
    reduced_ = S.selfadjointView<Eigen::Upper>();
    // Scaled by the diagonal before elimination: a direction that elimination uses up shows as ≈ 0.
    scale_ = normal.U().diagonal().cwiseMax(1e-300).cwiseSqrt().cwiseInverse();
    const MatX scaled = scale_.asDiagonal() * reduced_ * scale_.asDiagonal();
    const bool touched = kept == 0 || normal.U().diagonal().minCoeff() > 0.0;
    if (!(touched && invert(scaled))) {
        const Eigen::SelfAdjointEigenSolver<MatX> eigen(scaled);
        const double low = eigen.eigenvalues()[0], high = eigen.eigenvalues()[kept - 1];
        if (!(low > kRankTolerance * high) || !touched) {
            defect.direction = largestShares(scale_.asDiagonal() * VecX(eigen.eigenvectors().col(0)),
                                             layout_.eliminatedColumns);
            return;
        }
        kept_ = scale_.asDiagonal() *
                (eigen.eigenvectors() * eigen.eigenvalues().cwiseInverse().asDiagonal() *
                 eigen.eigenvectors().transpose()) *
                scale_.asDiagonal();
    }
    for (std::size_t n = 0; n < normal.blocks().size(); ++n) {
        projections_.push_back(inverses_[n] * normal.blocks()[n].W);
        touched_.push_back(normal.blocks()[n].touched);
    }
    valid_ = true;
}

/// By Cholesky, which is many times faster than by eigenvectors. False, and nothing done, where the matrix
/// may be near the rank tolerance: by ‖A‖ ‖A⁻¹‖ (Frobenius), which no ratio of eigenvalues exceeds.
bool CovarianceFactor::invert(const MatX& scaled) {
    const Eigen::Index kept = scaled.rows();
    const Eigen::LLT<MatX> llt(scaled);
    if (llt.info() != Eigen::Success) return false;
    const MatX inverse = llt.solve(MatX::Identity(kept, kept));
    if (!(scaled.norm() * inverse.norm() < kSurelySound)) return false;
    kept_ = scale_.asDiagonal() * inverse * scale_.asDiagonal();
    kept_ = MatX((kept_ + kept_.transpose()) / 2);
    return true;
}

double CovarianceFactor::conditionNumber() const {
    if (scale_.size() == 0) return layout_.kept() == 0 ? 1.0 : 0.0;
    const MatX scaled = scale_.asDiagonal() * reduced_ * scale_.asDiagonal();
    const Eigen::SelfAdjointEigenSolver<MatX> eigen(scaled, Eigen::EigenvaluesOnly);
    return eigen.eigenvalues()[scaled.rows() - 1] / std::max(eigen.eigenvalues()[0], 1e-300);
}

int CovarianceFactor::blockOf(int column) const {
    const auto it = std::upper_bound(layout_.blockStart.begin(), layout_.blockStart.end(), column);
    return static_cast<int>(it - layout_.blockStart.begin()) - 1;
}

CovarianceFactor::Split CovarianceFactor::split(const Gradient& f) const {
    Split s;
    std::vector<std::pair<int, double>>& kept = s.kept;
    for (const auto& [column, value] : f) {
        if (column < 0) continue;
        if (column >= layout_.eliminatedColumns) {
            kept.emplace_back(column - layout_.eliminatedColumns, value);
            continue;
        }
        const int block = blockOf(column);
        auto it = std::find_if(s.own.begin(), s.own.end(), [&](const auto& o) { return o.first == block; });
        if (it == s.own.end()) {
            s.own.emplace_back(block, VecX::Zero(layout_.blockSize(static_cast<std::size_t>(block))));
            it = s.own.end() - 1;
        }
        it->second[column - layout_.blockStart[static_cast<std::size_t>(block)]] += value;
    }
    for (const auto& [block, g] : s.own) {
        const auto b = static_cast<std::size_t>(block);
        for (std::size_t j = 0; j < touched_[b].size(); ++j)
            kept.emplace_back(touched_[b][j], -projections_[b].col(static_cast<Eigen::Index>(j)).dot(g));
    }
    std::stable_sort(kept.begin(), kept.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    std::size_t last = 0;
    for (std::size_t i = 1; i < kept.size(); ++i) {
        if (kept[i].first == kept[last].first)
            kept[last].second += kept[i].second;
        else
            kept[++last] = kept[i];
    }
    if (!kept.empty()) kept.resize(last + 1);
    return s;
}

double CovarianceFactor::inner(const Split& a, const Split& b) const {
    double sum = 0.0;
    for (const auto& [ci, vi] : a.kept) {
        double row = 0.0;
        for (const auto& [ck, vk] : b.kept) row += kept_(ck, ci) * vk;
        sum += vi * row;
    }
    for (const auto& [block, g] : a.own)
        for (const auto& [other, h] : b.own)
            if (block == other) sum += g.dot(inverses_[static_cast<std::size_t>(block)] * h);
    return sum;
}

double CovarianceFactor::variance(const Gradient& f) const {
    const Split s = split(f);
    return inner(s, s);
}

MatX CovarianceFactor::covariance(const std::vector<Gradient>& functions) const {
    std::vector<Split> splits;
    for (const Gradient& f : functions) splits.push_back(split(f));
    const auto n = static_cast<Eigen::Index>(functions.size());
    MatX c(n, n);
    for (Eigen::Index i = 0; i < n; ++i)
        for (Eigen::Index k = i; k < n; ++k)
            c(i, k) = c(k, i) =
                inner(splits[static_cast<std::size_t>(i)], splits[static_cast<std::size_t>(k)]);
    return c;
}

VecX CovarianceFactor::times(const Gradient& f) const {
    // Σ = [V⁻¹ + P K Pᵀ, −P K; −K Pᵀ, K] with P = V⁻¹ W and K the covariance of the kept unknowns.
    const Split s = split(f);
    VecX out = VecX::Zero(layout_.columns);
    VecX kept = VecX::Zero(layout_.kept());
    for (const auto& [column, value] : s.kept) kept += value * kept_.col(column);
    out.tail(layout_.kept()) = kept;
    for (std::size_t b = 0; b < touched_.size(); ++b) {
        auto part = out.segment(layout_.blockStart[b], layout_.blockSize(b));
        for (std::size_t j = 0; j < touched_[b].size(); ++j)
            part -= projections_[b].col(static_cast<Eigen::Index>(j)) * kept[touched_[b][j]];
    }
    for (const auto& [block, g] : s.own)
        out.segment(layout_.blockStart[static_cast<std::size_t>(block)], g.size()) +=
            inverses_[static_cast<std::size_t>(block)] * g;
    return out;
}

}  // namespace trammel::estimate
