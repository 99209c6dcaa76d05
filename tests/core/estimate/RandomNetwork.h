// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <random>

#include "core/estimate/Problem.h"

namespace trammel::test {

/// A random linear problem with eliminated blocks of 1 to 6 columns and some kept columns: rows of one or two
/// components that touch at most one block, some inactive, some with fixed (−1) or doubled columns.
class RandomNetwork : public estimate::Problem {
  public:
    RandomNetwork(unsigned seed, int blocks, int kept, int rowsPerBlock) : random_(seed) {
        for (int b = 0; b < blocks; ++b) {
            layout_.blockStart.push_back(layout_.eliminatedColumns);
            layout_.eliminatedColumns += integer(1, estimate::Layout::kMostInBlock);
        }
        layout_.columns = layout_.eliminatedColumns + kept;
        for (std::size_t b = 0; b < layout_.blockStart.size(); ++b)
            for (int i = 0; i < rowsPerBlock; ++i) addRow(static_cast<int>(b));
        for (int i = 0; i < kept; ++i) addRow(-1);
        x_ = saved_ = VecX::Zero(layout_.columns);
    }

    const estimate::Layout& layout() const override { return layout_; }
    bool linearise(std::vector<estimate::Rows>& rows, bool) const override {
        rows = rows_;
        for (auto& row : rows)
            for (std::size_t k = 0; k < 2; ++k)
                for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
                    row.e[k] -= row.J[k][i] * x_[row.column[i]];
        return true;
    }
    void step(const VecX& delta) override { x_ += delta; }
    void save() override { saved_ = x_; }
    void restore() override { x_ = saved_; }
    const VecX& x() const { return x_; }
    int integer(int low, int high) { return std::uniform_int_distribution<int>(low, high)(random_); }
    double normal() { return std::normal_distribution<double>()(random_); }

    std::vector<estimate::Rows>& rows() { return rows_; }

  private:
    void addRow(int block) {
        estimate::Rows row;
        row.components = integer(1, 2);
        row.active = integer(0, 9) > 0;
        const auto put = [&](int column) { row.add(column, normal(), row.components == 2 ? normal() : 0.0); };
        if (block >= 0) {
            const auto b = static_cast<std::size_t>(block);
            for (int i = 0; i < layout_.blockSize(b); ++i) put(layout_.blockStart[b] + i);
            put(layout_.blockStart[b]);  // named twice
        }
        for (int i = integer(1, 4); i > 0; --i) put(integer(layout_.eliminatedColumns, layout_.columns - 1));
        put(-1);
        row.e = {normal(), row.components == 2 ? normal() : 0.0};
        rows_.push_back(row);
    }

    std::mt19937 random_;
    estimate::Layout layout_;
    std::vector<estimate::Rows> rows_;
    VecX x_, saved_;
};

}  // namespace trammel::test
