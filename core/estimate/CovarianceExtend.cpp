// SPDX-License-Identifier: GPL-3.0-or-later
// A factor with further observations taken up (see core/estimate/Covariance.h).
#include <Eigen/Cholesky>
#include <algorithm>
#include <map>

#include "core/estimate/Covariance.h"

namespace trammel::estimate {
namespace {

/// Pivot of the column-scaled factorisation under which a direction counts as free.
constexpr double kLeastPivot = 1e-12;

/// Rows of one block: A by the block's own columns, C by the kept ones in `columns` (ascending).
struct Stacked {
    MatX A, C;
    std::vector<int> columns;
};

Stacked stack(const std::vector<const Rows*>& rows, const std::vector<int>& touched, int start, int size,
              int eliminated) {
    Stacked s;
    s.columns = touched;
    int components = 0;
    for (const Rows* row : rows) {
        components += row->components;
        for (std::size_t i = 0; i < static_cast<std::size_t>(row->count); ++i)
            if (row->column[i] >= eliminated) s.columns.push_back(row->column[i] - eliminated);
    }
    std::sort(s.columns.begin(), s.columns.end());
    s.columns.erase(std::unique(s.columns.begin(), s.columns.end()), s.columns.end());
    s.A.setZero(components, size);
    s.C.setZero(components, static_cast<Eigen::Index>(s.columns.size()));
    int at = 0;
    for (const Rows* row : rows)
        for (std::size_t k = 0; k < static_cast<std::size_t>(row->components); ++k, ++at)
            for (std::size_t i = 0; i < static_cast<std::size_t>(row->count); ++i) {
                const int c = row->column[i];
                if (c < eliminated)
                    s.A(at, c - start) += row->J[k][i];
                else
                    s.C(at, std::lower_bound(s.columns.begin(), s.columns.end(), c - eliminated) -
                                s.columns.begin()) += row->J[k][i];
            }
    return s;
}

}  // namespace

/// With V⁻¹, P = V⁻¹W before and rows A (own), C (kept): what the rows say of the kept unknowns is R = C − A
/// P with covariance M = I + A V⁻¹ Aᵀ; afterwards V'⁻¹ = V⁻¹ − V⁻¹ Aᵀ M⁻¹ A V⁻¹ and P' = P + V'⁻¹ Aᵀ R.
void CovarianceFactor::takeUp(int block, const std::vector<const Rows*>& rows) {
    const auto b = static_cast<std::size_t>(block);
    const Stacked s =
        stack(rows, touched_[b], layout_.blockStart[b], layout_.blockSize(b), layout_.eliminatedColumns);
    MatX P = MatX::Zero(s.A.cols(), s.C.cols());
    for (std::size_t j = 0; j < touched_[b].size(); ++j) {
        const auto place = std::lower_bound(s.columns.begin(), s.columns.end(), touched_[b][j]);
        P.col(place - s.columns.begin()) = projections_[b].col(static_cast<Eigen::Index>(j));
    }
    const MatX R = s.C - s.A * P;
    const MatX G = s.A * inverses_[b];
    const Eigen::LLT<MatX> llt(MatX::Identity(s.A.rows(), s.A.rows()) + G * s.A.transpose());
    const MatX Z = llt.matrixL().solve(R), H = llt.matrixL().solve(G);
    const MatX information = Z.transpose() * Z;
    for (std::size_t i = 0; i < s.columns.size(); ++i)
        for (std::size_t k = 0; k < s.columns.size(); ++k)
            reduced_(s.columns[i], s.columns[k]) +=
                information(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(k));
    inverses_[b] = MatX(inverses_[b]) - H.transpose() * H;
    projections_[b] = P + MatX(inverses_[b]) * s.A.transpose() * R;
    touched_[b] = s.columns;
}

bool CovarianceFactor::invertReduced() {
    const Eigen::Index kept = reduced_.rows();
    if (kept == 0) return true;
    if (!(reduced_.diagonal().minCoeff() > 0.0)) return false;
    const VecX scale = reduced_.diagonal().cwiseSqrt().cwiseInverse();
    const Eigen::LLT<MatX> llt(MatX(scale.asDiagonal() * reduced_ * scale.asDiagonal()));
    if (llt.info() != Eigen::Success) return false;
    const VecX pivots = llt.matrixLLT().diagonal();
    if (!(pivots.minCoeff() * pivots.minCoeff() > kLeastPivot)) return false;
    kept_ = scale.asDiagonal() * llt.solve(MatX::Identity(kept, kept)) * scale.asDiagonal();
    return true;
}

CovarianceFactor CovarianceFactor::extended(const std::vector<Rows>& added, int fresh) const {
    CovarianceFactor out = *this;
    out.scale_.resize(0);
    const Eigen::Index before = layout_.kept(), after = before + fresh;
    out.layout_.columns += fresh;
    out.reduced_.setZero(after, after);
    out.reduced_.topLeftCorner(before, before) = reduced_;
    std::map<int, std::vector<const Rows*>> byBlock;
    for (const Rows& row : added) {
        int block = -1;
        for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
            if (row.column[i] < layout_.eliminatedColumns) block = blockOf(row.column[i]);
        if (block >= 0) {
            byBlock[block].push_back(&row);
            continue;
        }
        const int e = layout_.eliminatedColumns;
        for (std::size_t k = 0; k < static_cast<std::size_t>(row.components); ++k)
            for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
                for (std::size_t j = 0; j < static_cast<std::size_t>(row.count); ++j)
                    out.reduced_(row.column[i] - e, row.column[j] - e) += row.J[k][i] * row.J[k][j];
    }
    for (const auto& [block, rows] : byBlock) out.takeUp(block, rows);
    out.valid_ = valid_ && out.invertReduced();
    return out;
}

}  // namespace trammel::estimate
