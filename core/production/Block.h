// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/sheet/Sheet.h"

namespace trammel::production {

/// What stands together on a page: items in mm from its own lower left corner.
struct Block {
    Vec2 size = Vec2::Zero();
    std::vector<sheet::Item> items;
};

/// Adds the block's items with its lower left corner at a place of the page.
void put(const Block& block, const Vec2& at, sheet::Sheet& page);

/// A table with a heading and a rule under it; every row has as many cells as the heading. Columns are as
/// wide as their widest cell.
Block tableBlock(const std::string& title, const std::vector<std::string>& heading,
                 const std::vector<std::vector<std::string>>& rows);

/// Paragraphs under a title, broken to the width; each begins on a line of its own.
Block textBlock(const std::string& title, const std::vector<std::string>& paragraphs, double width_mm);

inline constexpr double kText_mm = 2.5, kLine_mm = 4.2;

}  // namespace trammel::production
