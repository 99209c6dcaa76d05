// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/handover/Deliver.h"
#include "core/handover/DxfReader.h"
#include "core/handover/Inspect.h"

namespace trammel::handover {

/// Holes to be cut that agree in diameter to 1e-4 mm.
struct CutHoles {
    double diameter_mm = 0.0;
    int count = 0;
};

/// The page that says what a DXF file, ours or another's, really contains, computed by reading it. Lengths
/// in mm by the unit that the header names (as millimetres where it names none).
/// To be cut is what lies on layers that begin with CUT_; in a file without such layers, everything closed.
struct CheckSheet {
    Contents contents;
    std::string sha256;                     ///< of the file's bytes, hex; empty when not known
    std::string what, revision, face;       ///< as the file's notes say; empty where they do not
    std::string kerf;                       ///< the kerf rule in the file's own words; empty: none stated
    std::optional<geometry::Bounds> cut;    ///< of what is to be cut
    double area_mm2 = 0.0;                  ///< of the material: outlines less openings and holes
    int outer = 0, inner = 0, open = 0;     ///< contours to be cut: of material, in it, not closed
    std::vector<CutHoles> holes;            ///< by diameter
    std::vector<std::string> dimensions;    ///< check dimensions: the six longest drawn ones
    std::vector<geometry::Circle> circles;  ///< of the file, in its unit
    std::string mark;                       ///< what tells the face from its mirror image, in words
    std::optional<Vec2> markAt;
    bool compared = false;                 ///< with a survey
    std::vector<std::string> differences;  ///< from it, each a sentence without full stop
};

CheckSheet checkSheet(const DxfFile& file, const std::string& name, const std::string& sha256);

/// The terms under which a file of ours says that it was drawn: face, revision, kerf, steps of nominal sizes,
/// clearance. What the file does not say is as by default.
Terms termsStated(const DxfFile& file);

/// The first word of the revision that the file's notes state; empty where they state none.
std::string statedRevision(const DxfFile& file);

/// The page for people, and as a JSON object (the contents with a key "check") for machines.
std::string checkText(const CheckSheet& sheet);
std::string checkJson(const CheckSheet& sheet);

}  // namespace trammel::handover
