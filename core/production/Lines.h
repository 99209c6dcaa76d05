// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/drawing/Drawing.h"
#include "core/production/Views.h"
#include "core/sheet/Sheet.h"

namespace trammel::production {

/// Widths of a line group of ISO 128-2: the wide one is twice the narrow one.
struct LineGroup {
    double wide_mm, narrow_mm;
};
LineGroup groupFor(const sheet::Paper& paper);  ///< 0.35/0.18 up to A3, 0.5/0.25 above

/// Width and dashes of ISO 128-2 (in widths d: dash 12, gap 3, long dash 24, dot 0.5; from memory).
sheet::Pen penFor(LineKind kind, const LineGroup& group);

/// From a view's axes (mm of the part) to the page.
struct OnPage {
    double scale = 1.0;
    Vec2 origin = Vec2::Zero();
    Vec2 operator()(const Vec2& p) const { return origin + scale * p; }
};

void drawLine(const ViewLine& line, const OnPage& to, const LineGroup& group, sheet::Sheet& page);

/// A dimension's lines as ISO 129-1 draws them: slim filled arrows; extension lines run on for 8 widths past
/// the dimension line. `text_mm` on paper.
void drawFigure(const drawing::Figure& figure, const OnPage& to, double text_mm, const LineGroup& group,
                sheet::Sheet& page);

/// Its value above its line, readable from below or from the right, on a white ground: no line may cut
/// through a value. To be written after all lines.
void writeFigure(const drawing::Figure& figure, const OnPage& to, double text_mm, sheet::Sheet& page);

}  // namespace trammel::production
