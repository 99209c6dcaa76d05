// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/estimate/Normal.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <map>

namespace trammel::estimate {
namespace {

/// L of V = L Lᵀ; false when V is not positive definite.
bool factorise(const Normal::Small& V, Normal::Small& L) {
    const Eigen::LLT<Normal::Small> llt(V);
    L = llt.matrixL();
    return llt.info() == Eigen::Success;
}

/// The rows' columns as one number (FNV-1a).
std::size_t patternOf(const std::vector<Rows>& rows) {
    std::size_t hash = 14695981039346656037ULL;
    for (const Rows& row : rows) {
        hash = (hash ^ static_cast<std::size_t>(row.count)) * 1099511628211ULL;
        for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
            hash = (hash ^ static_cast<std::size_t>(row.column[i])) * 1099511628211ULL;
    }
    return hash;
}

}  // namespace

Normal& Normal::of(const Problem& problem, const std::vector<Rows>& rows) {
    std::shared_ptr<Normal>& kept = problem.workspace().normal;
    if (!kept || kept->pattern_ != patternOf(rows) || kept->local_.size() != rows.size() ||
        kept->layout_.columns != problem.layout().columns ||
        kept->layout_.blockStart != problem.layout().blockStart)
        kept = std::make_shared<Normal>(problem.layout(), rows);
    return *kept;
}

double sumOfSquares(const std::vector<Rows>& rows) {
    double sum = 0.0;
    for (const Rows& row : rows)
        if (row.active) sum += row.squared();
    return sum;
}

Normal::Normal(const Layout& layout, const std::vector<Rows>& rows)
    : layout_(layout), pattern_(patternOf(rows)) {
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
    order_.resize(rows.size());
    keptCount_.assign(rows.size(), 0);
    for (std::size_t r = 0; r < rows.size(); ++r) {
        auto& order = order_[r];
        std::uint8_t& count = keptCount_[r];
        for (std::size_t i = 0; i < static_cast<std::size_t>(rows[r].count); ++i)
            if (rows[r].column[i] >= layout_.eliminatedColumns) order[count++] = static_cast<std::uint8_t>(i);
        std::stable_sort(order.begin(), order.begin() + count, [&](std::uint8_t a, std::uint8_t b) {
            return rows[r].column[a] < rows[r].column[b];
        });
    }
    groupBlocks();
}

void Normal::groupBlocks() {
    std::map<std::vector<int>, std::size_t> places;
    for (std::size_t b = 0; b < blocks_.size(); ++b) {
        const auto [place, fresh] = places.emplace(blocks_[b].touched, groups_.size());
        if (fresh) groups_.emplace_back();
        groups_[place->second].blocks.push_back(static_cast<int>(b));
    }
}

void Normal::eliminate(const std::vector<Small>& factors, MatX& S, VecX* right) const {
    constexpr Eigen::Index kChunk = 48;  // rows of L⁻¹ W gathered before they are multiplied
    MatX Z, product;                     // Z: touched × rows, so that one row of W lies in one piece
    for (const Group& group : groups_) {
        const std::vector<int>& touched = blocks_[static_cast<std::size_t>(group.blocks.front())].touched;
        const auto t = static_cast<Eigen::Index>(touched.size());
        Z.resize(t, kChunk + kMost);
        product.setZero(t, t);
        VecX sum = VecX::Zero(t);
        Eigen::Index filled = 0;
        const auto multiply = [&] {
            product.selfadjointView<Eigen::Upper>().rankUpdate(Z.leftCols(filled));
            filled = 0;
        };
        for (const int n : group.blocks) {
            const Block& b = blocks_[static_cast<std::size_t>(n)];
            const Small& L = factors[static_cast<std::size_t>(n)];
            for (Eigen::Index i = 0; i < b.size; ++i) {  // forward substitution, a row at a time
                auto row = Z.col(filled + i);
                row = b.W.row(i).transpose();
                for (Eigen::Index k = 0; k < i; ++k) row -= L(i, k) * Z.col(filled + k);
                row /= L(i, i);
            }
            if (right) {
                const Few y = L.triangularView<Eigen::Lower>().solve(b.g);
                sum.noalias() += Z.middleCols(filled, b.size) * y;
            }
            filled += b.size;
            if (filled >= kChunk) multiply();
        }
        if (filled > 0) multiply();
        for (Eigen::Index j = 0; j < t; ++j) {
            double* column = S.col(touched[static_cast<std::size_t>(j)]).data();
            for (Eigen::Index i = 0; i <= j; ++i)
                column[touched[static_cast<std::size_t>(i)]] -= product(i, j);
            if (right) (*right)[touched[static_cast<std::size_t>(j)]] -= sum[j];
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

void Normal::addSorted(const Rows& row, std::size_t index) {
    const auto& order = order_[index];
    const std::size_t count = keptCount_[index];
    const int e = layout_.eliminatedColumns;
    for (std::size_t i = 0; i < count; ++i) {
        const std::size_t a = order[i];
        const int ci = row.column[a] - e;
        const double j0 = row.J[0][a], j1 = row.components == 2 ? row.J[1][a] : 0.0;
        gKept_[ci] += j0 * row.e[0] + j1 * row.e[1];
        double* column = U_.col(ci).data();  // upper triangle: row ck ≤ column ci
        for (std::size_t k = 0; k < i; ++k) {
            const std::size_t b = order[k];
            const double product = j0 * row.J[0][b] + (row.components == 2 ? j1 * row.J[1][b] : 0.0);
            const int ck = row.column[b] - e;
            column[ck] += ck == ci ? 2.0 * product : product;  // a column named twice
        }
        column[ci] += j0 * j0 + j1 * j1;
    }
}

void Normal::assembleBlock(Block& b, const std::vector<Rows>& rows) {
    b.V.setZero(b.size, b.size);
    b.W.setZero(b.size, static_cast<Eigen::Index>(b.touched.size()));
    b.g.setZero(b.size);
    for (int r : b.rows) {
        const Rows& row = rows[static_cast<std::size_t>(r)];
        if (!row.active) continue;
        addSorted(row, static_cast<std::size_t>(r));
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
    VecX right = gKept_;
    std::vector<Small> factors(blocks_.size());
    for (std::size_t n = 0; n < blocks_.size(); ++n) {
        const Block& b = blocks_[n];
        Small V = b.V;
        V.diagonal() += lambda * D.segment(b.start, b.size);
        if (!factorise(V, factors[n])) return false;
    }
    eliminate(factors, S, &right);
    delta.resize(layout_.columns);
    VecX keptDelta(kept);
    if (kept > 0) {
        // Column scaling keeps the factorisation accurate when px, rad and mm meet in one matrix.
        const VecX scale = S.diagonal().cwiseMax(1e-300).cwiseSqrt().cwiseInverse();
        S = scale.asDiagonal() * S * scale.asDiagonal();
        const Eigen::LLT<Eigen::Ref<MatX>, Eigen::Upper> llt(S);
        if (llt.info() != Eigen::Success) return false;
        keptDelta = scale.asDiagonal() * llt.solve(scale.asDiagonal() * right);
        delta.tail(kept) = keptDelta;
    }
    VecX touched;
    for (const Group& group : groups_) {
        const std::vector<int>& columns = blocks_[static_cast<std::size_t>(group.blocks.front())].touched;
        touched.resize(static_cast<Eigen::Index>(columns.size()));
        for (std::size_t j = 0; j < columns.size(); ++j)
            touched[static_cast<Eigen::Index>(j)] = keptDelta[columns[j]];
        for (const int n : group.blocks) {
            const Block& b = blocks_[static_cast<std::size_t>(n)];
            Few y = b.g;
            for (Eigen::Index i = 0; i < b.size; ++i) y[i] -= b.W.row(i).dot(touched);
            const Small& L = factors[static_cast<std::size_t>(n)];
            L.triangularView<Eigen::Lower>().solveInPlace(y);
            L.transpose().triangularView<Eigen::Upper>().solveInPlace(y);
            delta.segment(b.start, b.size) = y;
        }
    }
    return delta.allFinite();
}

MatX Normal::reduced(std::vector<Small>& inverses, int& singularBlock) const {
    singularBlock = -1;
    MatX S = U_;
    inverses.resize(blocks_.size());
    std::vector<Small> factors(blocks_.size());
    for (std::size_t n = 0; n < blocks_.size(); ++n) {
        const Block& b = blocks_[n];
        const Few scale = b.V.diagonal().cwiseMax(1e-300).cwiseSqrt().cwiseInverse();
        const Small scaled = scale.asDiagonal() * b.V * scale.asDiagonal();
        const Eigen::SelfAdjointEigenSolver<Small> eigen(scaled, Eigen::EigenvaluesOnly);
        if (!(eigen.eigenvalues().minCoeff() > 1e-11) || !factorise(b.V, factors[n])) {
            singularBlock = static_cast<int>(n);
            return S;
        }
        inverses[n] = b.V.llt().solve(Small::Identity(b.size, b.size));
    }
    eliminate(factors, S, nullptr);
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
