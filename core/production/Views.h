// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/drawing/Envelope.h"
#include "core/survey/View.h"

/// What is seen in each view of a stepped envelope, as lines of the kinds of ISO 128-2. mm, at the scale of
/// the part, in the view's own axes: x right, y up (unfold::axesOf) with the part's origin at (0, 0).
namespace trammel::production {

using survey::View;

enum class LineKind {
    Visible,   ///< 01.2, continuous wide
    Hidden,    ///< 02.1, dashed narrow
    Centre,    ///< 04.1, long-dashed dotted narrow
    Adjacent,  ///< 05.1, long-dashed double-dotted narrow: keep-outs, which are no part
    Measured,  ///< 01.1, continuous narrow: features in no outline, as far as they were marked
};

struct ViewLine {
    LineKind kind = LineKind::Visible;
    std::vector<Vec2> points;
};

/// A course of a feature that belongs to no outline, in space.
struct Loose {
    std::vector<Vec3> course;
    survey::Id level;
};

struct Shape {
    drawing::Envelope envelope;
    std::vector<Loose> loose;
};

/// What a drawing of the top face, its survey and its solution hold. Loose features are those of levels of
/// the part that are neither drawn nor the foot of an outline: what stands on the part and has no outline.
Shape shapeOf(const drawing::Drawing& drawing, const survey::Survey& survey, const adjust::Solution& solution,
              double thickness_mm);

/// The lines of a view (not oblique). An edge counts as hidden where material stands before it on both of
/// its sides, so that what shows beside a wall does. Ends of hidden runs are found to 0.005 mm. Keep-outs
/// hide nothing.
std::vector<ViewLine> linesOf(const Shape& shape, View view);

/// The two halves of it: views from above and below, and views from the sides.
std::vector<ViewLine> planLines(const Shape& shape, View view);
std::vector<ViewLine> sideLines(const Shape& shape, View view);

}  // namespace trammel::production
