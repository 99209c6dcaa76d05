// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/math/Types.h"
#include "core/survey/View.h"

/// Where the views of a part lie on the sheet. Lengths in mm. Sheet: x right, y up, at the scale of the part;
/// the front view has the part's own x and z.
namespace trammel::unfold {

using survey::View;

/// The two ways of ISO 5456-2 (1996) to arrange views about the front view: 5.3, first-angle, has the view
/// from above below the front view and the view from the left on its right; 5.4, third-angle, has the view
/// from above above and the view from the left on the left. The rear view stands at either end of the row:
/// here at its right end. (Clause numbers and arrangement from memory.)
enum class Method { FirstAngle, ThirdAngle };

/// What the views hold between them, in the axes of the views (x right and z up in the front view).
struct Box {
    Vec3 low = Vec3::Zero(), high = Vec3::Zero();
};

/// A rectangle of the sheet.
struct Frame {
    Vec2 low = Vec2::Zero(), high = Vec2::Zero();
    Vec2 size() const { return high - low; }
    bool contains(const Vec2& p) const {
        return p.x() >= low.x() && p.y() >= low.y() && p.x() <= high.x() && p.y() <= high.y();
    }
};

/// A view's picture axes and the axis from the part to the viewer, as unit vectors in the axes of the views.
/// The bottom view has its x as the front view has it, so that the two align; a camera below the part
/// usually stood otherwise, which rectifying undoes.
struct Axes {
    Vec3 right, up, toViewer;
};
Axes axesOf(View view);  ///< oblique: those of the top view

/// The order in which a sheet names its views; oblique ones have no place on it.
inline constexpr View kPlaced[] = {View::Front, View::Top, View::Left, View::Right, View::Bottom, View::Rear};

class Arrangement {
  public:
    struct Terms {
        Method method = Method::FirstAngle;
        Box box;                  ///< of the part, in the axes of the views
        double turn = 0.0;        ///< rad about z from the part's +x to the views' +x: a datum may lie askew
        std::vector<View> views;  ///< to be laid out; the front view is always among them
        double border = 0.0;      ///< round the box within each view's frame
        double gap = 0.0;         ///< between two frames
    };
    Arrangement() : Arrangement(Terms{}) {}
    explicit Arrangement(const Terms& terms);

    Method method() const { return terms_.method; }
    const Box& box() const { return terms_.box; }
    const std::vector<View>& views() const { return terms_.views; }
    bool shows(View view) const;
    const Frame& frame(View view) const;  ///< of a view that is shown
    std::optional<View> viewAt(const Vec2& sheet) const;
    Frame whole() const;  ///< all frames and mitre lines

    /// Part's frame ↔ axes of the views.
    Vec3 turned(const Vec3& part) const { return back_.transpose() * part; }
    Vec3 unturned(const Vec3& own) const { return back_ * own; }

    Vec2 toSheet(View view, const Vec3& part) const { return ownToSheet(view, turned(part)); }
    Vec2 ownToSheet(View view, const Vec3& own) const;
    /// The part's point shown at a place of the sheet that lies `depth` mm towards the viewer (depthOf).
    Vec3 toPart(View view, const Vec2& sheet, double depth) const;
    double depthOf(View view, const Vec3& part) const { return axesOf(view).toViewer.dot(turned(part)); }
    /// Of the side of the box that faces the viewer.
    double nearDepth(View view) const;

    /// The 45° line at which y turns from a plan view (top, bottom) into a side view (left, right): its ends
    /// on the sheet, at the box's low and high y. Nothing where either is not shown.
    struct Mitre {
        Vec2 from = Vec2::Zero(), to = Vec2::Zero();
        Vec2 at(double y, const Box& box) const;
    };
    std::optional<Mitre> mitre(View plan, View side) const;

  private:
    Vec2 origin(View view) const;

    Terms terms_;
    Mat3 back_ = Mat3::Identity();
    struct Place {
        View view = View::Front;
        Vec2 origin = Vec2::Zero();  ///< sheet place of the views' origin
        Frame frame;
    };
    std::vector<Place> places_;
};

/// The symbol of the method, ISO 5456-2 (1996), figures 5 and 8 (from memory): a truncated cone, lying, its
/// narrow end to the left, and its view from there, two circles, where the method puts the view from the
/// left. Diameters 1 and 2 by length 2 in units of the narrow end; the middle of the whole is the origin.
struct Symbol {
    std::vector<Vec2> cone;  ///< closed
    Vec2 circles = Vec2::Zero();
    double narrow = 0.0, wide = 0.0;                 ///< radii
    std::vector<std::pair<Vec2, Vec2>> centreLines;  ///< long-dashed dotted
};
Symbol symbolOf(Method method);

}  // namespace trammel::unfold
