// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
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
    void assembleBlock(Block& block, const std::vector<Rows>& rows);
    void addKept(const Rows& row);

    Layout layout_;
    std::vector<Block> blocks_;
    std::vector<int> keptRows_;                               ///< rows that touch no eliminated block
    std::vector<std::array<int, Rows::kMostColumns>> local_;  ///< per row and column: place in block.touched
    MatX U_;
    VecX gKept_;
};

}  // namespace trammel::estimate
