// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/camera/Camera.h"
#include "core/geometry/Chain.h"
#include "core/survey/Survey.h"

/// Invented scenes with known truth: what stands before the camera, where the cameras stand, and which of its
/// features a survey is to find. Lengths in mm in the part's frame (origin and +x are those of the datum),
/// picture coordinates in px of the upright full frame, colours linear light 0..1, angles in rad.
namespace trammel::render {

/// What a surface looks like close up. It changes brightness only, never geometry.
enum class Texture { Plain, SolderMask, Metal, Plastic, Print, Rule };

/// A through opening: a full circle, or a closed chain.
struct Opening {
    std::string name;
    std::optional<geometry::Circle> circle;
    geometry::Chain chain;  ///< used when there is no circle
};

/// Paint on the upper face: a line of some width, or a ring.
struct Paint {
    std::vector<Vec2> line;  ///< two points or more; empty: a ring
    double width = 0.0;      ///< mm, of the line
    Vec2 centre = Vec2::Zero();
    double inner = 0.0, outer = 0.0;  ///< radii of the ring, mm
    Vec3 colour = Vec3(0.7, 0.7, 0.7);
};

/// The scale of a rule: `count` divisions from one point to another, lines to the right of that direction.
struct Graduations {
    Vec2 from = Vec2::Zero(), to = Vec2::Zero();
    int count = 0;
};

/// Squares on the upper face, like a chessboard: from its upper left corner (largest y) columns run along +x
/// and rows along −y; every second square, the first among them, has this colour, the others the solid's own.
struct Checker {
    Vec2 corner = Vec2::Zero();
    double pitchX = 0.0, pitchY = 0.0;
    int columns = 0, rows = 0;
    Vec3 colour = Vec3(0.03, 0.03, 0.03);
    std::vector<bool> dots;  ///< row by row: a disc of the other colour in the middle; empty: none
    double dotDiameter = 0.0;
};

/// A closed chain pulled from z = bottom to z = top, with openings right through.
struct Solid {
    std::string name;
    double bottom = 0.0, top = 0.0;
    geometry::Chain outline;
    std::vector<Opening> openings;
    Texture texture = Texture::Plain;
    Vec3 colour = Vec3(0.5, 0.5, 0.5);           ///< of both faces
    Vec3 wallColour = Vec3(0.3, 0.3, 0.3);       ///< of the walls
    Vec3 insideColour = Vec3(0.02, 0.02, 0.02);  ///< of the walls of openings: little light gets in there
    std::vector<Paint> paint;
    std::optional<Graduations> graduations;
    std::optional<Checker> checker;
    std::vector<std::string> onlyIn;  ///< names of the photographs that show it; empty: all
};

struct SceneLevel {
    std::string name;
    double height = 0.0;
};

/// A named feature with its true geometry, derived from a solid.
struct SceneFeature {
    std::string name;
    survey::FeatureKind kind = survey::FeatureKind::Corner;
    int level = 0;              ///< index into Scene::levels
    int solid = 0;              ///< index into Scene::solids
    bool painted = false;       ///< a printed point (a graduation of the rule), not a corner of the solid
    Vec3 point = Vec3::Zero();  ///< corner; centre of hole, arc or slot; middle of an edge or closed curve
    Vec3 from = Vec3::Zero(), to = Vec3::Zero();  ///< ends of an edge or arc; centres of a slot's ends
    double radius = 0.0;                          ///< hole, arc; half the width of a slot
    double startAngle = 0.0, sweep = 0.0;         ///< hole or arc: from startAngle by sweep (signed)
    std::vector<Vec3> course{};                   ///< closed curve: close points once round, anticlockwise
};

/// Point of an edge, hole, arc, slot or curve at fraction s in [0, 1] of its extent, and the unit tangent
/// there.
struct OnFeature {
    Vec3 point = Vec3::Zero(), tangent = Vec3::UnitX();
};
OnFeature along(const SceneFeature& feature, double s);

/// Body, lens and focus shared by several photographs, with the true constants.
struct SceneLens {
    std::string name, make, body, serial, lensMake, lens;
    double focalLength_mm = 0.0, pixelPitch_mm = 0.0;
    int frameWidth = 0, frameHeight = 0;  ///< px of the sensor, held level
    camera::Constants truth;              ///< px; principal point as held level
    double nominalStandOff_mm = 0.0;      ///< as read off the focusing ring (EXIF SubjectDistance)
    double fNumber = 0.0;
};

/// The plane behind everything: normal · X = offset.
struct Backdrop {
    Vec3 normal = Vec3::UnitZ();
    double offset = 0.0;
    Vec3 colour = Vec3(0.2, 0.2, 0.2);
};

/// How a body writes light as codes. Ours but for the first: cameras that follow no standard curve.
enum class Curve {
    Standard,  ///< sRGB (IEC 61966-2-1)
    Bare,      ///< none: the codes are light
    Crisp,     ///< light^(1/1.8)
    Soft,      ///< light^(1/2.6)
    Bold,      ///< sRGB codes c bent to ½c + ½(3c² − 2c³): a toe and a shoulder, as on film
};

struct SceneCamera {
    std::string name;
    survey::View view = survey::View::Top;
    int lens = 0;
    double standOff_mm = 0.0;  ///< entrance pupil to aim
    Vec3 aim = Vec3::Zero();   ///< the optical axis goes through this point
    /// Departure of the axis from the view: rotations about camera x, then y, then about the axis.
    double tiltX = 0.0, tiltY = 0.0, roll = 0.0;
    double azimuth = 0.0, offAxis = 0.0;  ///< oblique views: where the camera stands, from +x and from +z
    int orientation = 1;  ///< EXIF: how the picture is stored; 5..8 mean that the body was held upright
    int cropX = 0, cropY = 0, cropWidth = 0, cropHeight = 0;  ///< px of the upright full frame
    double blur_px = 0.0;                                     ///< standard deviation of the Gaussian
    double readNoise = 0.0;                                   ///< linear light
    double shotNoise = 0.0;                                   ///< σ² = shotNoise² · light + readNoise²
    double exposure = 1.0;
    int quality = 90;  ///< JPEG
    Curve curve = Curve::Standard;
    Backdrop backdrop;
};

/// A reading that a person will take, a reference length, or a tape. The truth gives its value.
struct SceneReading {
    std::string name;
    survey::Quantity quantity = survey::Quantity::Distance;
    std::vector<std::string> objects;  ///< names of features, levels or photographs
    double sigma = 0.0;                ///< in the unit of the quantity
    std::optional<double> nominal;     ///< references: what is printed on it
    bool reference = false, check = false;
};

struct SceneDimension {
    std::string name;
    survey::Quantity quantity = survey::Quantity::Distance;
    std::vector<std::string> objects;
    bool important = false;
};

struct SceneOutline {
    std::string name;
    survey::OutlinePurpose purpose = survey::OutlinePurpose::Outline;
    int level = 0;
    std::vector<std::string> chain;
};

struct Scene {
    std::string title, unit, note;
    std::vector<SceneLevel> levels;  ///< the first is the datum level, height 0
    std::vector<Solid> solids;
    std::vector<SceneFeature> features;
    std::vector<SceneLens> lenses;
    std::vector<SceneCamera> cameras;
    std::vector<SceneReading> readings;
    std::vector<SceneDimension> dimensions;
    std::vector<SceneOutline> outlines;
    std::string datumOrigin, datumDirection;
};

/// Pose of the camera: axis through the aim at the stand-off, turned by tilts and roll.
camera::Pose poseOf(const SceneCamera& camera);

/// True constants for the upright picture: the principal point turns with a body held upright.
camera::Constants constantsOf(const Scene& scene, const SceneCamera& camera);

/// Size of the upright full frame, px.
struct FrameSize {
    int width = 0, height = 0;
};
FrameSize frameOf(const Scene& scene, const SceneCamera& camera);

/// Index of the feature with this name, or nothing.
std::optional<int> featureIndex(const Scene& scene, const std::string& name);

}  // namespace trammel::render
