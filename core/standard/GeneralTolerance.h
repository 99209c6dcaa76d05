// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

namespace trammel::standard {

/// Classes of general tolerances of ISO 2768-1:1989, finest first.
enum class ToleranceClass { Fine, Medium, Coarse, VeryCoarse };
char letterOf(ToleranceClass c);  ///< f, m, c, v

/// What a general tolerance is about: tables 1, 2 and 3.
enum class Toleranced {
    Length,  ///< table 1, mm
    Broken,  ///< table 2: outer radii and heights of chamfers, mm
    Angle,   ///< table 3: rad, by the length of the shorter leg in mm
};

/// The permissible deviation ±t (mm, or rad of an angle) of a nominal size in mm (of an angle: its shorter
/// leg). Nothing where the standard gives none: sizes of 0.5 mm and less or above 4000 mm, and empty cells.
/// Tables 2 and 3 from memory.
std::optional<double> permissible(Toleranced what, ToleranceClass c, double size_mm);

/// One dimension as far as general tolerances concern it.
struct ToleratedSize {
    Toleranced what = Toleranced::Length;
    double size_mm = 0.0;    ///< or the shorter leg
    double plusMinus = 0.0;  ///< k = 2, mm or rad; 0: unknown
};

/// ± may be at most this share of the permissible deviation (common practice, no source; ISO 14253-1 takes
/// the ± off the tolerance at both ends, so that two thirds of it stay to be used).
inline constexpr double kShareOfTolerance = 1.0 / 3.0;

/// The finest class of which every ± is at most kShareOfTolerance: anything finer could not be shown to be
/// kept. Nothing where the ± are too large for all classes, where one is unknown, and without sizes. Sizes
/// of 0.5 mm and less are left out: the standard wants their deviations written beside them.
std::optional<ToleranceClass> supportedClass(const std::vector<ToleratedSize>& sizes);

/// "ISO 2768-m", or "none".
std::string className(const std::optional<ToleranceClass>& c);

}  // namespace trammel::standard
