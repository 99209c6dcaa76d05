// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <span>
#include <string>

namespace trammel::standard {

/// What goes with a coarse metric thread (ISO 261). mm; figures from memory of the standards named.
struct Fastener {
    const char* thread;  ///< "M3"
    double size_mm;      ///< major diameter
    double pitch_mm;     ///< coarse, ISO 261
    double tap_mm;       ///< the usual drill for tapping, ISO 2306
    double washer_mm;    ///< outer diameter, ISO 7089
    double washerThick_mm;
    double nut_mm;     ///< height of a nut, ISO 4032, largest
    double insert_mm;  ///< hole in plastic for a heat-set insert; common practice, no source: makers differ
};

/// M1.6 to M12 without M7, for which the standards named have no row.
std::span<const Fastener> fasteners();
const Fastener* fastenerFor(const std::string& thread);  ///< null: none

/// The next length of screw (ISO 888, from memory) that is at least this long; nothing above 100 mm.
std::optional<double> screwLength(double least_mm);

}  // namespace trammel::standard
