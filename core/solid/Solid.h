// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/drawing/Envelope.h"

namespace trammel::solid {

enum class Format {
    Step,  ///< ISO 10303-21 in mm: faces and arcs exact
    Stl    ///< binary, mm: triangles within kSagitta_mm of arcs
};

inline constexpr double kSagitta_mm = 0.01;

/// What reading the written file again showed.
struct Solid {
    std::string bytes;
    int solids = 0;                      ///< bodies that do not touch; of STL not told (0)
    double volume_mm3 = 0.0;             ///< of the file
    double expected_mm3 = 0.0;           ///< Σ area × height of the prisms
    std::vector<std::string> remarks{};  ///< sentences without full stop
};

/// The part's prisms as one solid (or several, where they do not touch); keep-outs are no part and left out.
/// The file is written aside and read back: a STEP must hold valid, closed solids whose volume is the
/// prisms' to 1e-6 of it, an STL closed triangles whose volume differs by no more than their chords explain.
/// Refused by name: no outline, an outline without thickness. WriteFailed: what was read back is not right.
Result<Solid> solidOf(const drawing::Envelope& envelope, const std::string& title, Format format);

/// The volume that a binary STL encloses, mm³; nothing where a side of a triangle has no partner that runs
/// the other way (the surface is open), or the bytes are none.
std::optional<double> closedVolume(const std::string& stl);

}  // namespace trammel::solid
