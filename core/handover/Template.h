// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/base/Result.h"
#include "core/drawing/Drawing.h"
#include "core/handover/Tabs.h"
#include "core/sheet/Sheet.h"

/// The drawing at true scale on as many pages as it needs, to be printed, joined and laid on card.
namespace trammel::handover {

/// What the bars of a first print measured, mm; 100, 100 and 141.42 on a true printer.
struct PrintedBars {
    double x = 100.0, y = 100.0;
    double diagonal = 141.4213562373095;  ///< from the free end of the one bar to that of the other
};

/// How far a printer's paper is from true: a point (x, y) meant lands on `print` · (x, y).
/// From the three bars: lengths give the scales, the triangle's third side (law of cosines) the angle.
/// Refused: bars off by more than 10 % or that make no triangle.
Result<Eigen::Matrix2d> printerOf(const PrintedBars& bars);

struct TemplateTerms {
    sheet::Paper paper = sheet::kA4;
    double margin_mm = 10.0;   ///< that the printer leaves blank
    double overlap_mm = 12.0;  ///< of neighbouring pages
    PrintedBars bars{};
    Tabs tabs{};  ///< left in what is cut; only here, for the cut file is for machines
};

/// First a page with the bars (100 mm in x and y, the diagonal) and how the pages lie; then row by row, from
/// above, the drawing's lines at 1:1. Each page tells its row and column, part, revision, face and that it is
/// to be printed at 100 %; crosses in the overlap fall on each other when neighbours are joined right. All
/// of it, the bars too, is drawn as the measured bars require. Lines to be cut are 0.18 mm wide, what is only
/// seen grey, keep-outs dashed. Refused: a page without room for the overlap, more than 200 pages, values
/// that are no numbers, tabs wider than 10 mm.
Result<std::vector<sheet::Sheet>> templatePages(const drawing::Drawing& drawing, const TemplateTerms& terms);

/// Where the drawing's point lies on a page, mm from the page's lower left, before correction: for tests
/// and for those who lay out more on the pages. Page 0 is the first page of the drawing.
struct Tiling {
    int rows = 0, columns = 0;
    Vec2 low = Vec2::Zero();   ///< the drawing's lower left corner with its room
    Vec2 step = Vec2::Zero();  ///< from one page to the next
    Vec2 window = Vec2::Zero();
    Vec2 corner = Vec2::Zero();  ///< of the window on the page
    /// Of row r from above and column c from the left, counted from 0.
    Vec2 windowLow(int row, int column) const;
    Vec2 onPage(int row, int column, const Vec2& p) const { return corner + p - windowLow(row, column); }
};
Result<Tiling> tilingOf(const drawing::Drawing& drawing, const TemplateTerms& terms);

}  // namespace trammel::handover
