// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/Result.h"
#include "core/geometry/Chain.h"

/// Reading DXF text files of any writer, R12 and later. Shares nothing with our writer, so that it can judge
/// it. Lengths in the file's own unit, angles in rad. Model space only; what lies in blocks is counted by
/// INSERT.
namespace trammel::handover {

inline constexpr std::uintmax_t kLargestDxf = 64u << 20;  ///< bytes; a cut file is far smaller

struct DxfLine {
    std::string layer;
    Vec2 from = Vec2::Zero(), to = Vec2::Zero();
};

/// Anticlockwise from `start` to `end`.
struct DxfArc {
    std::string layer;
    geometry::Circle circle;
    double start = 0.0, end = 0.0;
};

struct DxfCircle {
    std::string layer;
    geometry::Circle circle;
};

/// LWPOLYLINE or POLYLINE in the plane.
struct DxfPath {
    std::string layer;
    std::vector<geometry::Vertex> vertices;
    bool closed = false;
};

struct DxfDimension {
    std::string layer, block;
    std::string text;  ///< decoded to UTF-8; empty or "<>": the measured value
    int type = 0;  ///< 0 linear, 1 aligned, 2 angular, 3 diameter, 4 radius, 5 angular 3-point, 6 ordinate
    double angle = 0.0;
    Vec2 p10 = Vec2::Zero(), p13 = Vec2::Zero(), p14 = Vec2::Zero(), p15 = Vec2::Zero();
    std::optional<double> stated;  ///< group 42, the measured value as its writer saw it
};

struct DxfText {
    std::string layer, text;  ///< decoded to UTF-8
};

struct DxfFile {
    std::string version;  ///< "AC1015"; empty when the header names none
    std::optional<int> insUnits, measurement;
    std::optional<geometry::Bounds> extents;  ///< as the header claims
    std::vector<DxfLine> lines;
    std::vector<DxfArc> arcs;
    std::vector<DxfCircle> circles;
    std::vector<DxfPath> paths;
    std::vector<DxfDimension> dimensions;
    std::vector<DxfText> texts;
    std::map<std::string, std::map<std::string, int>> counts;  ///< layer → entity type → how many
    std::vector<std::string> blocks;                           ///< names defined
    int paperSpace = 0;                                        ///< entities on the paper, not read
};

/// Refuses with one sentence: no such file, larger than kLargestDxf, binary, not DXF, cut short, or a line
/// that should be a number and is none (named by its line number).
Result<DxfFile> readDxf(const std::filesystem::path& file);

/// The same from memory.
Result<DxfFile> parseDxf(std::string_view text, const std::string& nameForErrors);

}  // namespace trammel::handover
