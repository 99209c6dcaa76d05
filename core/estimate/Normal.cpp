// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/estimate/Normal.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>

namespace trammel::estimate {

double sumOfSquares(const std::vector<Rows>& rows) {
    double sum = 0.0;
    for (const Rows& row : rows)
        if (row.active) sum += row.squared();
    return sum;
}

Normal::Normal(const Layout& layout, const std::vector<Rows>& rows) : layout_(layout) {
    blocks_.resize(layout_.blockStart.size());
    std::vector<int> blockOf(static_cast<std::size_t>(layout_.eliminatedColumns));
    for (std::size_t b = 0; b < blocks_.size(); ++b) {
        blocks_[b].start = layout_.blockStart[b];
        blocks_[b].size = layout_.blockSize(b);
        for (int i = 0; i < blocks_[b].size; ++i)
            blockOf[static_cast<std::size_t>(blocks_[b].start + i)] = static_cast<int>(b);
    }
    for (std::size_t r = 0; r < rows.size(); ++r) {
        int block = -1;
        for (int i = 0; i < rows[r].count; ++i) {
            const int c = rows[r].column[static_cast<std::size_t>(i)];
            if (c < layout_.eliminatedColumns) block = blockOf[static_cast<std::size_t>(c)];
        }
        if (block < 0) {
            keptRows_.push_back(static_cast<int>(r));
            continue;
        }
        Block& b = blocks_[static_cast<std::size_t>(block)];
        b.rows.push_back(static_cast<int>(r));
        for (int i = 0; i < rows[r].count; ++i) {
            const int c = rows[r].column[static_cast<std::size_t>(i)];
            if (c >= layout_.eliminatedColumns) b.touched.push_back(c - layout_.eliminatedColumns);
        }
    }
    local_.resize(rows.size());
    for (Block& b : blocks_) {
        std::sort(b.touched.begin(), b.touched.end());
        b.touched.erase(std::unique(b.touched.begin(), b.touched.end()), b.touched.end());
        for (int r : b.rows) {
            const Rows& row = rows[static_cast<std::size_t>(r)];
            for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i) {
                const int c = row.column[i];
                local_[static_cast<std::size_t>(r)][i] =
                    c < layout_.eliminatedColumns
                        ? c - b.start
                        : static_cast<int>(std::lower_bound(b.touched.begin(), b.touched.end(),
                                                            c - layout_.eliminatedColumns) -
                                           b.touched.begin());
            }
        }
    }
}

void Normal::assemble(const std::vector<Rows>& rows) {
    U_.setZero(layout_.kept(), layout_.kept());
    gKept_.setZero(layout_.kept());
    for (Block& b : blocks_) assembleBlock(b, rows);
    for (int r : keptRows_)
        if (rows[static_cast<std::size_t>(r)].active) addKept(rows[static_cast<std::size_t>(r)]);
}

void Normal::addKept(const Rows& row) {
    const int e = layout_.eliminatedColumns;
    for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i) {
        if (row.column[i] < e) continue;
        const int ci = row.column[i] - e;
        const double j0 = row.J[0][i], j1 = row.components == 2 ? row.J[1][i] : 0.0;
        gKept_[ci] += j0 * row.e[0] + j1 * row.e[1];
        for (std::size_t k = 0; k < static_cast<std::size_t>(row.count); ++k) {
            const int ck = row.column[k] - e;
            if (ck < ci) continue;  // upper triangle: row ci, column ck ≥ ci (repeats add both ways)
            U_(ci, ck) += j0 * row.J[0][k] + (row.components == 2 ? j1 * row.J[1][k] : 0.0);
        }
    }
}

void Normal::assembleBlock(Block& b, const std::vector<Rows>& rows) {
    b.V.setZero(b.size, b.size);
    b.W.setZero(b.size, static_cast<Eigen::Index>(b.touched.size()));
    b.g.setZero(b.size);
    for (int r : b.rows) {
        const Rows& row = rows[static_cast<std::size_t>(r)];
        if (!row.active) continue;
        addKept(row);
        const auto& local = local_[static_cast<std::size_t>(r)];
        for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i) {
            if (row.column[i] >= layout_.eliminatedColumns) continue;
            const double j0 = row.J[0][i], j1 = row.components == 2 ? row.J[1][i] : 0.0;
            b.g[local[i]] += j0 * row.e[0] + j1 * row.e[1];
            for (std::size_t k = 0; k < static_cast<std::size_t>(row.count); ++k) {
                const double product = j0 * row.J[0][k] + (row.components == 2 ? j1 * row.J[1][k] : 0.0);
                if (row.column[k] < layout_.eliminatedColumns)
                    b.V(local[i], local[k]) += product;
                else
                    b.W(local[i], local[k]) += product;
            }
        }
    }
}

bool Normal::solve(double lambda, const VecX& D, VecX& delta) const {
    const int kept = layout_.kept();
    MatX S = U_;
    S.diagonal() += lambda * D.tail(kept);
    VecX rhs = gKept_;
    std::vector<Small> inverses(blocks_.size());
    for (std::size_t n = 0; n < blocks_.size(); ++n) {
        const Block& b = blocks_[n];
        Small V = b.V;
        V.diagonal() += lambda * D.segment(b.start, b.size);
        const Eigen::LLT<Small> llt(V);
        if (llt.info() != Eigen::Success) return false;
        inverses[n] = llt.solve(Small::Identity(b.size, b.size));
        const Thin Y = inverses[n] * b.W;
        const Eigen::Index t = b.W.cols();
        for (Eigen::Index j = 0; j < t; ++j) {
            const int cj = b.touched[static_cast<std::size_t>(j)];
            rhs[cj] -= Y.col(j).dot(b.g);
            for (Eigen::Index i = 0; i <= j; ++i)
                S(b.touched[static_cast<std::size_t>(i)], cj) -= b.W.col(i).dot(Y.col(j));
        }
    }
    delta.resize(layout_.columns);
    VecX keptDelta(kept);
    if (kept > 0) {
        // Column scaling keeps the factorisation accurate when px, rad and mm meet in one matrix.
        const VecX scale = S.diagonal().cwiseMax(1e-300).cwiseSqrt().cwiseInverse();
        S = scale.asDiagonal() * S * scale.asDiagonal();
        const Eigen::LLT<Eigen::Ref<MatX>, Eigen::Upper> llt(S);
        if (llt.info() != Eigen::Success) return false;
        keptDelta = scale.asDiagonal() * llt.solve(scale.asDiagonal() * rhs);
        delta.tail(kept) = keptDelta;
    }
    for (std::size_t n = 0; n < blocks_.size(); ++n) {
        const Block& b = blocks_[n];
        VecX right = b.g;
        for (Eigen::Index j = 0; j < b.W.cols(); ++j)
            right -= b.W.col(j) * keptDelta[b.touched[static_cast<std::size_t>(j)]];
        delta.segment(b.start, b.size) = inverses[n] * right;
    }
    return delta.allFinite();
}

MatX Normal::reduced(std::vector<Small>& inverses, int& singularBlock) const {
    singularBlock = -1;
    MatX S = U_;
    inverses.resize(blocks_.size());
    for (std::size_t n = 0; n < blocks_.size(); ++n) {
        const Block& b = blocks_[n];
        const Few scale = b.V.diagonal().cwiseMax(1e-300).cwiseSqrt().cwiseInverse();
        const Small scaled = scale.asDiagonal() * b.V * scale.asDiagonal();
        const Eigen::SelfAdjointEigenSolver<Small> eigen(scaled);
        if (!(eigen.eigenvalues().minCoeff() > 1e-11)) {
            singularBlock = static_cast<int>(n);
            return S;
        }
        inverses[n] = b.V.llt().solve(Small::Identity(b.size, b.size));
        const Thin Y = inverses[n] * b.W;
        for (Eigen::Index j = 0; j < b.W.cols(); ++j)
            for (Eigen::Index i = 0; i <= j; ++i)
                S(b.touched[static_cast<std::size_t>(i)], b.touched[static_cast<std::size_t>(j)]) -=
                    b.W.col(i).dot(Y.col(j));
    }
    return S;
}

VecX Normal::gradient() const {
    VecX g(layout_.columns);
    for (const Block& b : blocks_) g.segment(b.start, b.size) = b.g;
    g.tail(layout_.kept()) = gKept_;
    return g;
}

VecX Normal::diagonal() const {
    VecX d(layout_.columns);
    for (const Block& b : blocks_) d.segment(b.start, b.size) = b.V.diagonal();
    d.tail(layout_.kept()) = U_.diagonal();
    return d;
}

}  // namespace trammel::estimate
