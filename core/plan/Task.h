// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/Result.h"
#include "core/math/Types.h"

/// Planning before the first photograph.
namespace trammel::plan {

/// The camera's sensor: width and height in mm (held level), and its pixels.
struct Sensor {
    double width_mm = 36.0, height_mm = 24.0;
    int width_px = 6000, height_px = 4000;
    double pitch_mm() const { return width_mm / width_px; }
    bool operator==(const Sensor&) const = default;
};

/// Usual sensors by a name of ours: "full", "crop 1.5", "crop 1.6", "half", "inch", "medium". Sizes are
/// common practice, from memory; makers differ by some tenths of a mm. Nothing for another name.
std::optional<Vec2> sensorSize(std::string_view name);
std::vector<std::string> sensorNames();

/// One lens of the maker's own.
struct Lens {
    std::string name;                            ///< empty: called by its focal length
    double shortest_mm = 0.0, longest_mm = 0.0;  ///< focal length; equal unless it zooms
    double widest = 4.0, narrowest = 22.0;       ///< f-numbers it can be set to
    std::optional<double> closest_mm = {};       ///< closest focus from the image plane; nothing: not known
    std::string title() const;                   ///< "200 mm", or its name
    bool operator==(const Lens&) const = default;
};

enum class Marking { Clicked, Fitted };

/// How the camera is made square to the part, with its standard uncertainty (common practice, no source).
enum class Squaring { Eye, Level, Mirror };
double squareSigma_rad(Squaring squaring);  ///< eye 2°, spirit level or plumb line 0.5°, mirror 0.1°
std::string_view squaringName(Squaring squaring);
std::optional<Squaring> squaringFromName(std::string_view name);

/// A reference length at hand: the longest that may be used, and its standard uncertainty (k = 1).
struct ReferenceLength {
    std::string name = "steel rule";
    double length_mm = 300.0, sigma_mm = 0.05;
    bool anyShorter = true;  ///< a rule: any shorter stretch will do; false: an object of one length
    bool operator==(const ReferenceLength&) const = default;
};

/// Reference lengths by name: "rule 300" (any number), "card" (ISO/IEC 7810 ID-1, long side), "A4", "A5",
/// "A3" (ISO 216, long side). σ is the limit over √3 (even spread, JCGM 100:2008 4.3.7); of a rule 0.05 mm
/// (common practice).
std::optional<ReferenceLength> referenceLength(std::string_view name);

/// What the maker has and wants. Lengths in mm.
struct Task {
    double sizeX_mm = 300.0, sizeY_mm = 200.0;
    std::vector<double> heights_mm{0.0};    ///< of the levels over the datum level, which is 0
    double need_mm = 0.1;                   ///< wanted ± (k = 2) of distances, positions and diameters
    std::optional<double> needHeight_mm{};  ///< of heights; nothing: as need_mm
    Sensor sensor;
    std::vector<Lens> lenses;
    double room_mm = 5000.0;  ///< from the part to the wall behind the camera
    Marking marking = Marking::Fitted;
    std::optional<double> markSigma_px{};  ///< nothing: usual for the marking (see markSigma)
    bool caliper = true, depthRod = true;
    double caliperReach_mm = 150.0;
    ReferenceLength reference;
    Squaring squaring = Squaring::Level;

    /// Clicked 1.5 px, fitted 0.15 px (core/fit's marks on usual photographs; the campaign "plan" checks it).
    double markSigma() const;
    double needHeight() const { return needHeight_mm.value_or(need_mm); }
    double highest() const;  ///< largest of the heights and 0
    double lowest() const;
    bool operator==(const Task&) const = default;
};

/// Refuses with one sentence what no plan can be made of: not finite, not positive, absurdly large or small,
/// no lens, too many levels or lenses.
Result<void> check(const Task& task);

}  // namespace trammel::plan
