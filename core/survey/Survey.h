// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/math/Types.h"
#include "core/survey/View.h"

/// The whole document as plain values. Everything has a stable id ("S1" station, "L2" level, "F3" feature,
/// "M4" mark, "R5" reading, "D6" dimension, "O7" outline, "G8" camera group, "C9" condition); names are for
/// people. Lengths in mm, photograph coordinates in px, angles in rad.
namespace trammel::survey {

using Id = std::string;

/// A value with its standard uncertainty (k = 1), both in the same unit.
struct Measured {
    double value = 0.0;
    double sigma = 0.0;
    bool operator==(const Measured&) const = default;
};

/// How a camera constant enters the adjustment.
enum class ConstantMode { Fixed, Prior, Free };

struct Constant {
    double value = 0.0;
    double sigma = 0.0;  ///< used by Prior only
    ConstantMode mode = ConstantMode::Fixed;
    bool operator==(const Constant&) const = default;
};

/// σ of CameraGroup::lightGrowth for a camera of which nothing is known: k = 2 reaches one without a curve.
inline constexpr double kGrowthSigma = 0.35;

/// Photographs taken with one body, lens, zoom and focus setting share these constants.
struct CameraGroup {
    Id id;
    std::string name;
    std::string body, lens;
    double focalLength_mm = 0.0;  ///< as engraved / EXIF; 0 unknown
    double pixelPitch_mm = 0.0;   ///< on the sensor, of the full frame; 0 unknown
    /// Principal distance in px of the full frame. Prior from f (1+m)/pitch with ≥ 10 % unless calibrated.
    Constant principalDistance{0.0, 0.0, ConstantMode::Free};
    /// Principal point in full-frame px (x right, y down, (0,0) at the centre of the first pixel).
    Constant principalX, principalY;
    /// Brown's constants in normalised coordinates, as OpenCV's projectPoints has them.
    Constant k1, k2, k3, p1, p2;
    /// How far the entrance pupil lies behind the front of the lens, from where a tape is held (mm).
    Constant pupil;
    /// By what share of its blur the light side of an edge between white and black grows over the dark one,
    /// in these photographs as fits see them: how far the camera's tone curve departs from the one that fits
    /// assume (MarkPoint::growth_px). Without any curve it is −0.63, as calculated, and −0.7, as measured: a
    /// prior of 0 ± 0.35 covers ordinary cameras. Fixed unless asked for: slivers of lit wall along outer
    /// edges look like a growth of 0.1, and a camera that does follow the curve would be measured worse with
    /// it.
    Constant lightGrowth;
    /// Another group taken with the same lens at the same zoom but focused elsewhere; empty: none. The focal
    /// lengths c/(1+m) of both (unit focusing: the lens moves as a whole, m the magnification) then agree
    /// within focusSigma, the relative standard uncertainty of that rule for a lens that breathes.
    Id refocusedFrom;
    double focusSigma = 0.05;
    bool operator==(const CameraGroup&) const = default;
};

/// Where the stored picture lies in the camera's full frame.
struct FrameCrop {
    int fullWidth = 0, fullHeight = 0;    ///< px of the uncropped, upright frame; 0 unknown
    double offsetX = 0.0, offsetY = 0.0;  ///< px: full-frame coordinate of the stored picture's first pixel
    bool known = false;  ///< false: the user has still to be asked; the principal point is then weak
    /// What turns px of the picture into px of the full frame; nothing while the crop is not known.
    Vec2 offset() const { return known ? Vec2(offsetX, offsetY) : Vec2(0.0, 0.0); }
    bool operator==(const FrameCrop&) const = default;
};

/// The camera's own lens seen in a flat mirror that lies on the part: the line of sight to it is square to
/// the mirror (law of reflection), so it shows the direction of the view better than any spirit level.
struct MirrorMark {
    Vec2 px = Vec2::Zero();  ///< middle of the reflected lens, px of the upright photograph
    double sigma_px = 1.5;
    double seat_rad = 0.0017;  ///< standard uncertainty of how flat the mirror lies on the part
    bool operator==(const MirrorMark& o) const {
        return px == o.px && sigma_px == o.sigma_px && seat_rad == o.seat_rad;
    }
};

/// A photograph by reference. Width, height and marks are those of the upright picture
/// (EXIF orientation applied once).
struct Photo {
    std::string path;    ///< relative to the survey file, '/' separators
    std::string sha256;  ///< of the file's bytes, hex
    int width = 0, height = 0;
    int orientation = 1;  ///< EXIF 1..8 as found
    FrameCrop crop;
    bool operator==(const Photo&) const = default;
};

/// The stored picture is smaller than the full frame it was cut from. Where the offset is not known, the
/// adjustment finds it as far as the marks can tell, starting from the offset given (the middle).
inline bool isCropped(const Photo& p) { return p.crop.fullWidth > p.width || p.crop.fullHeight > p.height; }

/// One camera position with its photograph.
struct Station {
    Id id;
    std::string name;
    View view = View::Top;
    Photo photo;
    Id group;
    /// Standard uncertainty (rad) of "the optical axis is square to the view"; 0 switches the prior off.
    /// Ignored for oblique views.
    double squareSigma_rad = 0.0175;
    bool excluded = false;
    std::optional<MirrorMark> mirror;  ///< of a mirror square to the view; not for oblique views
    bool operator==(const Station&) const = default;
};

/// What a level may do besides lie flat.
enum class LevelForm {
    Flat,    ///< z is constant
    Tilted,  ///< a plane that need not be parallel to the datum
    Bowed,   ///< tilted, and curved to the second order
};

/// A surface of the part, z = constant unless its form says more. The datum level has z = 0 by definition; it
/// cannot be tilted, but where it is bowed, z = 0 is the plane that touches it in the middle of its features.
struct Level {
    Id id;
    std::string name;
    LevelForm form = LevelForm::Flat;
    bool operator==(const Level&) const = default;
};

enum class FeatureKind {
    Corner,  ///< a point
    Edge,    ///< a straight line in its level
    Hole,    ///< a full circle in its level
    Arc,     ///< part of a circle in its level (fillet, rounded end)
    Slot,    ///< two half circles of one radius joined by straight sides, in its level
    Curve,   ///< a free curve in its level, smooth; closed where its longest mark runs into its beginning
};

/// How the two faces that meet in a feature do so, and which line of it is meant where a photograph shows
/// two. The middle is that of what the feature bounds: of its outline, hole or arc.
enum class Transition {
    Sharp,  ///< one line; where two are seen, the user is asked
    Inner,  ///< of two lines the one nearer to the middle (the bore of a countersunk hole, the face of a
            ///< chamfered plate)
    Outer,  ///< of two lines the one farther from the middle (the silhouette of a chamfered plate)
    Round,  ///< one face turns into the other over `transition_mm`: the line lies anywhere in it
};

struct Feature {
    Id id;
    std::string name;
    FeatureKind kind = FeatureKind::Corner;
    Id level;  ///< empty: free in space (corner, edge, hole and arc only)
    Transition transition = Transition::Sharp;
    double transition_mm =
        0.0;  ///< width of the transition in its level; needed of round ones, 0: not stated
    bool operator==(const Feature&) const = default;
};

enum class MarkOrigin { Hand, Fitted };

/// One observed point of a mark, in px of the upright photograph ((0,0) = centre of the first pixel).
struct MarkPoint {
    Vec2 px = Vec2::Zero();
    double sigma_px = 1.5;  ///< corner: in x and in y; edge, hole, arc: across the line or rim
    /// How far the point moves, and whereto, when the light side of the picture's edges grows by one unit of
    /// CameraGroup::lightGrowth: towards the dark side. Known of fitted points; zero: unknown.
    Vec2 growth_px = Vec2::Zero();
    bool operator==(const MarkPoint& o) const {
        return px == o.px && sigma_px == o.sigma_px && growth_px == o.growth_px;
    }
};

/// Where a feature is seen in one photograph. A corner has one point, an edge at least two along it,
/// a hole or arc at least three on its rim. Rim points of a hole observe the ellipse itself, lens
/// distortion included, and never its centre (which is not the image of the hole's centre).
struct Mark {
    Id id;
    Id station, feature;
    std::vector<MarkPoint> points;
    MarkOrigin origin = MarkOrigin::Hand;
    bool excluded = false;
    bool operator==(const Mark&) const = default;
};

/// What a reading or a wanted dimension is about; `objects` are ids.
enum class Quantity {
    Distance,   ///< two features: point-point (corner; centre of hole, arc, slot), point-edge, edge-edge (mm)
    Diameter,   ///< one hole or arc; width of one slot (mm)
    Radius,     ///< one hole, arc or slot (mm)
    Depth,      ///< |height difference| of two levels or features (mm)
    Height,     ///< z of one level or feature above the datum level, signed (mm)
    OffsetX,    ///< x of the second feature minus x of the first (mm); points only
    OffsetY,    ///< y likewise
    Angle,      ///< between two edges, 0..π/2, or at the second of three points, 0..π (rad)
    Tape,       ///< one station: front of the lens (its entrance pupil less `pupil`) to the datum origin (mm)
    InnerSpan,  ///< between the near sides of two features, holes and arcs with their radius (mm)
    OuterSpan,  ///< over the far sides of two features, holes and arcs with their radius (mm)
    Length,     ///< over the ends of one slot (mm)
};

/// A value taken by hand, or a reference length lying in the picture.
struct Reading {
    Id id;
    std::string name;
    Quantity quantity = Quantity::Distance;
    std::vector<Id> objects;
    Measured measured;
    bool reference = false;  ///< a known length in the photograph (rule, card) rather than a hand reading
    bool check = false;      ///< withheld from the adjustment: it must come out right
    bool excluded = false;
    /// Width of the flats of the jaws inside a hole (mm), 0 for knife edges: a flat bridges the curve, and
    /// the caliper shows the chord √(D² − w²) (Pythagoras) in place of the diameter D. Diameters, lengths of
    /// slots and spans.
    double jawFlat_mm = 0.0;
    bool operator==(const Reading&) const = default;
};

/// A dimension that the user wants to know.
struct Dimension {
    Id id;
    std::string name;
    Quantity quantity = Quantity::Distance;
    std::vector<Id> objects;
    bool important = false;
    double target =
        0.0;  ///< the ± (k = 2) that would do, in the dimension's unit (mm or rad); 0: none stated
    bool operator==(const Dimension&) const = default;
};

/// What is thought to hold between features; the data may refute it.
enum class ConditionKind {
    Parallel,       ///< two edges
    Perpendicular,  ///< two edges
    Concentric,     ///< two or more holes, arcs
    Equal,          ///< two or more holes, arcs, slots: of one radius
    Coplanar,       ///< two or more levels or features: at one height
    Symmetrical,    ///< two points or two edges about a third feature (edge: the axis; point: the centre)
    Pitch,          ///< two or more points in a row at equal steps; `measured.value` the step, 0 unknown
    Tangent,        ///< an edge and an arc or hole (a fillet runs into its edges)
};

/// A tight observation. All are told in mm: how far the features may miss the rule (for edges: over the
/// marked length of the shorter one, as ISO 1101 has its orientation tolerances).
struct Condition {
    Id id;
    std::string name;
    ConditionKind kind = ConditionKind::Parallel;
    std::vector<Id> objects;
    Measured measured{0.0, 0.02};
    bool excluded = false;
    bool operator==(const Condition&) const = default;
};

enum class OutlinePurpose { Outline, Cutout, KeepOut };

/// A closed chain of features in one level, in order. Neighbouring edges meet at their intersection,
/// an edge and an arc at their tangent point or intersection, corners are joined by straight lines.
struct Outline {
    Id id;
    std::string name;
    OutlinePurpose purpose = OutlinePurpose::Outline;
    Id level;
    std::vector<Id> chain;
    bool operator==(const Outline&) const = default;
};

/// Origin and axes of the part.
struct Datum {
    Id level;      ///< z = 0
    Id origin;     ///< corner, hole or arc whose point (centre) is x = y = 0
    Id direction;  ///< edge along +x (or its angle closest to +x), or a second point on the +x axis
    bool operator==(const Datum&) const = default;
};

struct Survey {
    std::string title, unit, note;  ///< unit: which physical copy of the part
    std::vector<CameraGroup> groups;
    std::vector<Station> stations;
    std::vector<Level> levels;
    std::vector<Feature> features;
    std::vector<Mark> marks;
    std::vector<Reading> readings;
    std::vector<Dimension> dimensions;
    std::vector<Outline> outlines;
    std::vector<Condition> conditions;
    Datum datum;
    bool operator==(const Survey&) const = default;
};

/// Look-up by id over one of the lists above; null when absent.
template <class T>
const T* find(const std::vector<T>& list, const Id& id) {
    for (const T& item : list)
        if (item.id == id) return &item;
    return nullptr;
}

/// The name people know an object by, e.g. "hole H3" or "photograph front"; the id where nothing is found.
std::string describe(const Survey& survey, const Id& id);

}  // namespace trammel::survey
