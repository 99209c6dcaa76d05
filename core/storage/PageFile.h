// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/sheet/Sheet.h"

namespace trammel::storage {

/// A page is written as what its name ends in, .pdf or .svg in letters of any size; BadValue for another
/// ending. To be asked before the work that the page is to show.
Result<void> checkPageName(const std::string& file);

/// Writes the page whole or not at all, as SVG where the name ends so and else as PDF; `title` is what a
/// reader of PDF shows.
Result<void> writePage(const sheet::Sheet& page, const std::string& title, const std::string& file);

/// Writes pages all or none and returns what was written: one PDF, or an SVG for each page, the second as
/// NAME-2.svg and so on.
Result<std::vector<std::filesystem::path>> writePages(const std::vector<sheet::Sheet>& pages,
                                                      const std::string& title, const std::string& file);

}  // namespace trammel::storage
