// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/camera/Camera.h"
#include "core/survey/Survey.h"

namespace trammel::adjust {

using survey::Id;

/// Adjusted geometry of one feature, mm in the part's frame.
struct FeatureGeometry {
    survey::FeatureKind kind = survey::FeatureKind::Corner;
    Vec3 point =
        Vec3::Zero();  ///< corner; centre of hole, arc, slot; middle of an edge's or curve's marked part
    Vec2 direction = Vec2::UnitX();  ///< edge, slot: unit vector along it, in plan
    double radius = 0.0;             ///< hole, arc; half the width of a slot
    Vec2 spanFrom = Vec2::Zero(),
         spanTo =
             Vec2::Zero();  ///< edge, arc: ends of the marked part (for drawing); slot: centres of its ends
    double slope = 0.0;     ///< rise of an edge free in space from spanFrom to spanTo, mm
    Vec3 normal = Vec3::UnitZ();  ///< of the plane of a hole or arc free in space
    bool closed = false;          ///< curve: its end runs into its beginning
    std::vector<Vec3> course;     ///< slot, curve, free circle: points along it, close enough to draw
};

/// One camera position after the adjustment.
struct StationResult {
    camera::Pose pose;
    camera::Constants constants;   ///< of its group
    double standOff_mm = 0.0;      ///< entrance pupil to the datum origin
    double scale_px_per_mm = 0.0;  ///< at the datum origin
    Vec2 offset = Vec2::Zero();    ///< of the stored picture in the full frame, px: given or found
};

/// How one observation (a whole mark, a reading, a prior) fared.
struct ObservationResult {
    Id object;                ///< id of mark, reading, station (priors) or group (priors)
    std::string description;  ///< "mark of hole H3 in photograph front"
    VecX residual;            ///< observed minus adjusted, px, mm or rad
    double sigma = 0.0;       ///< of the first component
    double redundancy = 0.0;  ///< sum of redundancy numbers over the components, 0..size
    double test = 0.0;        ///< χ²-distributed with `size` degrees of freedom when the data are good
    int size = 0;
    double probability = 1.0;  ///< of a test value at least this large by chance
    double w = 0.0;            ///< largest standardised residual |v|/(σ√r) of the components (Baarda 1968)
    double smallestDetectable = 0.0;  ///< 4.13 σ/√r of the best-controlled component; infinite when r = 0
    bool controlled = true;  ///< false: hardly anything else speaks of it, so that its error would not show
    double weakest = 1.0;    ///< redundancy of a shift of the whole in the direction controlled least, 0..1
    double harm = 0.0;       ///< mm or rad: most that a dimension moves by an error just too small to be seen
    Id harmed{};             ///< that dimension
    bool check = false;      ///< a withheld check reading: residual tested against its predicted ±
};

/// Why an observation is wrong, where the data point to one cause.
enum class Cause {
    Unknown,
    WrongTie,            ///< a mark that lies on another feature of the part
    SwappedTies,         ///< the marks of two features exchanged in one photograph
    MirroredPhotograph,  ///< the picture is flipped left to right
    WrongView,           ///< the photograph was given another view than it shows
    WholePhotograph,     ///< many marks of one photograph: refocused, zoomed, or the part was moved
    Inches,              ///< a reading in inches, or one converted twice
    PowerOfTen,          ///< a decimal point in the wrong place, centimetres
    RadiusForDiameter,   ///< or a diameter for a radius
    ExchangedDigits,     ///< two neighbouring digits
    WrongDigit,          ///< one digit wrong, missing or doubled
};

/// An observation that disagrees with the rest, worst first.
struct Suspect {
    Id object;
    std::string sentence;         ///< plain words, with the likely size of the error
    double estimatedError = 0.0;  ///< px or mm, signed for readings
    double w = 0.0;
    Cause cause = Cause::Unknown;
    /// Observations one of which may be the wrong one instead of this: the data cannot tell which. None of
    /// them carries the dimensions then. Not empty: the sentence names them.
    std::vector<Id> alternatives{};
    std::string decidedBy{};  ///< with alternatives: the further reading that would tell, one sentence
    double likelyValue =
        0.0;             ///< what a reading probably should say (mm or rad); 0 where nothing points to it
    Id likelyFeature{};  ///< what a wrongly tied mark probably shows; empty where nothing points to it
};

/// An observation with a share in a dimension's ±.
struct Carrier {
    Id object;                ///< mark, reading, condition; station or group for priors
    std::string description;  ///< "mark of hole H3 in photograph front"
    double share = 0.0;       ///< of the variance, 0..1
};

struct DimensionResult {
    survey::Dimension dimension;
    double value = 0.0;      ///< mm or rad
    double plusMinus = 0.0;  ///< expanded uncertainty, k = 2
    /// Largest shares first (core/adjust/Carriers.h); of the survey's own dimensions only.
    std::vector<Carrier> carriers{};
};

/// How a level departs from flat.
struct LevelShape {
    Id level;
    survey::LevelForm form = survey::LevelForm::Flat;  ///< that it has (allowed) or that the marks speak for
    bool allowed = false;                              ///< the survey lets it; else a doubt
    double amount_mm = 0.0;     ///< highest less lowest of its marked places by that form alone
    double plusMinus_mm = 0.0;  ///< k = 2
    double over_mm = 0.0;       ///< how far apart these two places lie
    double probability = 1.0;   ///< of a doubt: chance of as much on a flat level
    std::string sentence;
};

/// By what share of their blur the light side of the edges in a camera's photographs grows over the dark one
/// (survey::CameraGroup::lightGrowth).
struct LightGrowth {
    Id group;
    double share = 0.0, plusMinus = 0.0;  ///< k = 2
    double perUnit_px = 0.0;              ///< what a share of 1 does to a fitted edge
    std::string sentence;                 ///< empty where it is no more than its doubt
};

struct GlobalTest {
    double varianceFactor = 1.0;  ///< vᵀPv / degrees of freedom
    int degreesOfFreedom = 0;
    double low = 0.0, high = 0.0;  ///< 95 % interval for the factor when σ are honest
    bool passed = false;
};

class Covariance;  // core/adjust/Covariance.h

/// The adjusted survey. Immutable; holds what is needed for ± of any quantity.
struct Solution {
    std::map<Id, FeatureGeometry> features;
    std::map<Id, double> levels;  ///< heights, mm; in the middle of its features where a level is not flat
    std::map<Id, StationResult> stations;
    std::map<Id, camera::Constants> groups;
    std::vector<ObservationResult> observations;
    std::vector<Suspect> suspects;
    std::vector<std::string> setAside;  ///< keys of their owners, for a warm start (core/adjust/WarmStart.h)
    std::vector<DimensionResult> dimensions;  ///< those of the survey, in its order
    std::vector<LevelShape> levelShapes;      ///< levels that are not flat, or seem not to be
    std::vector<LightGrowth> lightGrowths;    ///< of cameras with fitted marks
    std::vector<std::string> limits;          ///< plain sentences: what these observations cannot tell
    GlobalTest global;
    int iterations = 0;
    double conditionNumber = 0.0;    ///< of the column-scaled normal matrix
    std::vector<std::string> notes;  ///< plain sentences: what the photographs cannot tell, what was assumed
    std::shared_ptr<const Covariance> covariance;

    /// Value and ± (k = 2) of any quantity between adjusted objects.
    Result<DimensionResult> measure(const survey::Dimension& dimension) const;

    /// Where a feature appears in a photograph (px of the upright photograph, crop taken off): a point for
    /// a corner, a polyline of `steps` pieces for an edge, hole or arc. Empty when behind the camera.
    std::vector<Vec2> project(const survey::Survey& survey, const Id& feature, const Id& station,
                              int steps = 48) const;
};

/// px/mm of each photograph by an adjustment; empty without one.
std::map<Id, double> scalesOf(const Solution* solution);

}  // namespace trammel::adjust
