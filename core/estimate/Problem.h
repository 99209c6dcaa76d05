// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <memory>
#include <vector>

#include "core/math/Types.h"

namespace trammel::estimate {

/// One observation of one or two components, whitened (divided by its σ): e = (observed − computed)/σ and the
/// derivative of computed/σ. A column index of −1 is a fixed parameter and is skipped; a column may be
/// named twice (two quantities tied to one unknown), the contributions then add.
struct Rows {
    static constexpr int kMostColumns = 32;
    int components = 1;  ///< 1 or 2
    int count = 0;       ///< columns in use
    std::array<int, kMostColumns> column{};
    std::array<double, 2> e{};
    std::array<std::array<double, kMostColumns>, 2> J{};
    bool active = true;  ///< inactive rows weigh nothing but are still linearised (for their tests)

    void add(int col, double first, double second = 0.0) {
        if (col < 0) return;
        column[static_cast<std::size_t>(count)] = col;
        J[0][static_cast<std::size_t>(count)] = first;
        J[1][static_cast<std::size_t>(count)] = second;
        ++count;
    }
    double squared() const { return e[0] * e[0] + (components == 2 ? e[1] * e[1] : 0.0); }
};

/// Columns 0 … eliminatedColumns−1 form small blocks (1 … kMostInBlock columns each) of which a row touches
/// at most one: they are eliminated first (Schur complement). All later columns are kept.
struct Layout {
    static constexpr int kMostInBlock = 6;
    int columns = 0;
    std::vector<int> blockStart;  ///< first column of each eliminated block, ascending
    int eliminatedColumns = 0;

    int kept() const { return columns - eliminatedColumns; }
    int blockSize(std::size_t b) const {
        const int end = b + 1 < blockStart.size() ? blockStart[b + 1] : eliminatedColumns;
        return end - blockStart[b];
    }
};

class Normal;

/// What is kept between calls for its memory and structure; a copy starts without.
struct Workspace {
    Workspace() = default;
    Workspace(const Workspace&) {}
    Workspace& operator=(const Workspace&) { return *this; }
    std::vector<Rows> rows, trial;
    std::shared_ptr<Normal> normal;
};

/// A model with its current state. Steps live in the tangent space of the state (rotations stay rotations).
class Problem {
  public:
    virtual ~Problem() = default;
    virtual const Layout& layout() const = 0;
    /// Rows at the current state; the sparsity (columns, order) must not change between calls, but for rows
    /// that touch no eliminated block: their columns may.
    /// With derivatives == false only `e` need be filled. False when the state is impossible (a point
    /// behind the camera): the solver then shortens its step.
    virtual bool linearise(std::vector<Rows>& rows, bool derivatives) const = 0;
    virtual void step(const VecX& delta) = 0;
    virtual void save() = 0;
    virtual void restore() = 0;

    /// Free for whoever works on the problem; nobody relies on what it holds.
    Workspace& workspace() const { return workspace_; }

  private:
    mutable Workspace workspace_;
};

/// Sum of squared whitened residuals over the active rows.
double sumOfSquares(const std::vector<Rows>& rows);

}  // namespace trammel::estimate
