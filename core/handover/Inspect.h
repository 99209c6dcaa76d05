// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/handover/DxfReader.h"

namespace trammel::handover {

struct ContourContents {
    std::string layer;
    bool closed = false;
    std::size_t pieces = 0;
    double area = 0.0;       ///< unit², without sign; 0 for an open one
    double perimeter = 0.0;  ///< unit; open ones without the missing piece
    bool crossesItself = false;
    geometry::Chain chain;  ///< closed ones only
    geometry::Bounds bounds;
};

/// Circles of one layer that agree in diameter to 1e-4 units.
struct CircleContents {
    std::string layer;
    double diameter = 0.0;
    int count = 0;
};

struct DimensionContents {
    std::string layer, text;
    double measured = 0.0;        ///< between its own points, unit (or rad for angles)
    std::optional<double> shown;  ///< the number its text shows; nothing when the text is the measured value
    bool agrees = true;           ///< shown equals measured to the last decimal shown
    bool pictured = true;         ///< its block is in the file, so every reader shows it
};

/// What a DXF file really holds. Lengths in the file's unit.
struct Contents {
    std::string file, version;
    std::string unit;  ///< "millimetre", "inch", "none stated", ...
    std::optional<double> millimetresPerUnit;
    std::optional<geometry::Bounds> extents;  ///< of lines, arcs, circles and polylines
    std::map<std::string, std::map<std::string, int>> layers;
    std::vector<ContourContents> contours;
    std::vector<CircleContents> circles;
    std::vector<DimensionContents> dimensions;
    int doubled = 0;              ///< pieces that lie on another one of their layer, wholly or in part
    int doubledAcrossLayers = 0;  ///< the same for pieces of different layers
    int hairlineGaps = 0;  ///< loose ends that nearly meet: apart by more than rounding and less than 0.1 mm
    std::vector<std::string> warnings;  ///< plain sentences, worst first
};

/// What the file contains, with everything that usually goes wrong at the cutter named in words: scale wrong
/// by 25.4, loose ends, doubled lines, curves that are no arcs, dimensions that contradict their geometry.
/// Loose lines and arcs of one layer are joined end to end into contours (ends within 1e-5 units).
Contents inspect(const DxfFile& file, const std::string& name);

/// The units that are probably mixed up where lengths are off by this factor (25.4, 10 or 1000, either way,
/// to 2 %), e.g. "inches and millimetres"; empty for other factors.
std::string mixedUnits(double factor);

/// The contents for people.
std::string contentsText(const Contents& contents);

/// The contents as a JSON object (UTF-8), for machines.
std::string contentsJson(const Contents& contents);

}  // namespace trammel::handover
