// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <optional>
#include <span>
#include <string>

namespace trammel::standard {

/// One row of ISO 273:1979: the holes (mm) through which a screw of metric thread passes. Coarse threads of
/// ISO 261 by their name.
struct ClearanceHole {
    const char* thread;             ///< "M3"
    double size_mm;                 ///< 3
    std::array<double, 3> hole_mm;  ///< fine, medium, coarse
};

/// M1 to M12, as three published tables have them.
std::span<const ClearanceHole> clearanceHoles();

/// The series of ISO 273 and the tolerance that it gives its holes: fine H12, medium H13, coarse H14.
enum class Series { Fine, Medium, Coarse };
const char* seriesName(Series series);  ///< "fine"

/// Upper limit deviation (mm) of a hole of the series: IT12, IT13 or IT14 of ISO 286-1 for its diameter, up
/// to 18 mm. The lower one of H is 0.
double holeTolerance(Series series, double diameter_mm);

/// What a hole of measured diameter can be to a screw.
struct HoleUse {
    const ClearanceHole* row = nullptr;  ///< null: no standard screw
    std::optional<Series> series;        ///< nothing: the hole is of no series, the screw only passes
};

/// The thread and series whose hole, with the tolerance of the standard, a hole of this diameter and ±
/// (k = 2, mm; 0 unknown) may be; of several the nearest by its nominal diameter. Where it is none: the
/// largest thread whose fine hole is no larger. Nothing below the finest hole of M1 and above the coarse
/// hole of M12 with their tolerances and the ±, nor where a value is no number.
HoleUse useOf(double diameter_mm, double plusMinus_mm);

/// "M3 medium (3.4)", "passes M2.5", "no standard screw".
std::string useWords(const HoleUse& use);

}  // namespace trammel::standard
