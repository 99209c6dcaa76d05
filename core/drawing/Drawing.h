// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/geometry/Chain.h"
#include "core/survey/Survey.h"

/// What exporters see: plain values, everything placed, nothing left to decide but the file's syntax.
/// Lengths in mm, x to the right and y up as the shown face is looked at; angles in rad.
namespace trammel::drawing {

using survey::Id;

/// Which face the drawing shows. Bottom is mirrored in x against the top view (part frame).
enum class Face { Top, Bottom };

struct DrawnLevel {
    Id id;
    std::string name;
    double height = 0.0;  ///< mm above the datum level
};

/// A closed, simple chain. Outlines and keep-outs run anticlockwise, cutouts clockwise.
struct DrawnChain {
    Id outline;
    std::string name;
    survey::OutlinePurpose purpose = survey::OutlinePurpose::Outline;
    Id level;
    geometry::Chain chain;
};

struct DrawnHole {
    Id feature;
    std::string name;
    Id level;
    geometry::Circle circle;
    bool cut = true;              ///< false: drawn to be seen
    std::string notCutBecause{};  ///< "its level has no outline"
};

/// A cross at a hole's centre; each arm reaches this far.
struct CentreMark {
    Vec2 centre = Vec2::Zero();
    double reach = 0.0;
};

enum class FigureKind { Linear, Diameter, Radius };

/// A dimension drawn beside the part.
/// Linear: extension lines leave `first` and `second`; the dimension line runs at `angle` through `linePoint`
/// (where second's extension line meets it); what it measures is the part of second − first along `angle`.
/// Diameter: `first` and `second` are opposite points of the rim. Radius: `first` is the centre, `second` on
/// the rim. For both a leader goes on from `second` to `linePoint`, beside the text.
struct Figure {
    FigureKind kind = FigureKind::Linear;
    Id dimension;
    std::string name;
    Vec2 first = Vec2::Zero(), second = Vec2::Zero();
    double angle = 0.0;
    Vec2 linePoint = Vec2::Zero();
    Vec2 textMiddle = Vec2::Zero();
    double textAngle = 0.0;
    std::string text;  ///< UTF-8, with "⌀" or "R" and "±"
    /// Length between its own points as drawn, mm.
    double measured() const;
};

/// One line of the table of dimensions, in the survey's order; the drawn ones are here as well.
struct DimensionRow {
    Id id;
    std::string name;
    survey::Quantity quantity = survey::Quantity::Distance;
    std::string objects;     ///< "hole H1, hole H2"
    double value = 0.0;      ///< mm or degrees
    double plusMinus = 0.0;  ///< k = 2, same unit; 0 unknown
    std::string unit;        ///< "mm" or "deg"
    std::string text;        ///< value and ± as printed
    bool drawn = false;      ///< false: cannot be shown in plan, listed in the notes
};

/// Which side of a cut is wanted: what lies within the outlines, or the sheet around them.
enum class KeptSide { Part, Sheet };

/// What this drawing was compensated for (Kerf.h); width 0: nothing, its lines are the finished edges.
struct Kerf {
    double width_mm = 0.0;
    KeptSide side = KeptSide::Part;
};

/// A line of text; `at` is its left end on the base line.
struct TextLine {
    Vec2 at = Vec2::Zero();
    std::string text;
};

struct Drawing {
    std::string title, unit, revision, note;
    Face face = Face::Top;
    Kerf kerf{};
    std::vector<DrawnLevel> levels;  ///< those that hold a chain or a hole, lowest first
    std::vector<DrawnChain> chains;
    std::vector<DrawnHole> holes;
    std::vector<CentreMark> centreMarks;
    std::vector<Figure> figures;
    std::vector<DimensionRow> rows;
    std::vector<std::string> remarks;  ///< plain sentences: what was moved or left out to draw this
    std::vector<TextLine> text;        ///< title, units, face, heights, remarks: as printed beside the part
    double textHeight = 2.5;           ///< mm, of figures and text
    geometry::Bounds part;             ///< chains and holes
    geometry::Bounds extents;          ///< with figures and text
};

/// Width on the sheet of a text of this height; an estimate on the wide side for a plain narrow face.
double textWidth(const std::string& utf8, double height);

}  // namespace trammel::drawing
