// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <vector>

#include "core/estimate/Problem.h"

namespace trammel::estimate {

/// Normal equations N δ = g of a linearised problem, kept in blocks: V (eliminated, block-diagonal),
/// W (eliminated × kept, only touched columns) and U (kept, dense).
/// Elimination as in Triggs et al., Bundle Adjustment: a modern synthesis (2000), section 6.1.
class Normal {
  public:
    static constexpr int kMost = Layout::kMostInBlock;
    using Small = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::ColMajor, kMost, kMost>;
    using Thin =
        Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor, kMost, Eigen::Dynamic>;
    using Few = Eigen::Matrix<double, Eigen::Dynamic, 1, Eigen::ColMajor, kMost, 1>;

    struct Block {
        int start = 0, size = 0;
        std::vector<int> touched;  ///< kept columns (0-based within the kept part), ascending
        std::vector<int> rows;     ///< indices of the rows that touch the block
        Small V;
        Thin W;  ///< size × touched
        VecX g;
    };

    Normal(const Layout& layout, const std::vector<Rows>& rows);

    /// The problem's normal equations from its workspace, laid out anew only where the rows' columns are
    /// others than last time. To be assembled.
    static Normal& of(const Problem& problem, const std::vector<Rows>& rows);

    /// Sums V, W, U, g from the rows' current values.
    void assemble(const std::vector<Rows>& rows);

    /// Solves (N + λ D) δ = g with the diagonal matrix D ≥ 0 given as a vector. False when not positive
    /// definite.
    bool solve(double lambda, const VecX& D, VecX& delta) const;

    /// Schur complement U − Σ Wᵀ V⁻¹ W at λ = 0 (upper triangle valid), and V⁻¹ per block.
    /// A singular V is reported by its block index in `singularBlock`, else −1.
    MatX reduced(std::vector<Small>& inverses, int& singularBlock) const;

    const Layout& layout() const { return layout_; }
    const std::vector<Block>& blocks() const { return blocks_; }
    const MatX& U() const { return U_; }
    VecX gradient() const;
    VecX diagonal() const;

  private:
    /// Blocks whose rows touch the same kept columns: eliminated together, as one product of matrices.
    struct Group {
        std::vector<int> blocks;
    };
    void groupBlocks();
    /// Takes Σ Wᵀ V⁻¹ W off the upper triangle of S, and Σ Wᵀ V⁻¹ g off `right` when given; the Cholesky
    /// factors of the V are `factors`.
    void eliminate(const std::vector<Small>& factors, MatX& S, VecX* right) const;
    void assembleBlock(Block& block, const std::vector<Rows>& rows);
    void addKept(const Rows& row);                       ///< of a row that touches no block
    void addSorted(const Rows& row, std::size_t index);  ///< the kept part of one that does

    Layout layout_;
    std::size_t pattern_ = 0;  ///< of the rows' columns
    std::vector<Block> blocks_;
    std::vector<Group> groups_;  ///< in the order of their first block
    std::vector<int> keptRows_;  ///< rows that touch no eliminated block
    std::vector<std::array<std::uint8_t, Rows::kMostColumns>>
        order_;  ///< per row: its kept columns, ascending
    std::vector<std::uint8_t> keptCount_;
    std::vector<std::array<int, Rows::kMostColumns>> local_;  ///< per row and column: place in block.touched
    MatX U_;
    VecX gKept_;
};

}  // namespace trammel::estimate
