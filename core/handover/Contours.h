// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/handover/Inspect.h"

/// Steps of inspect().
namespace trammel::handover {

/// A line, arc, circle or polyline piece of the file, on its layer.
struct LoosePiece {
    std::string layer;
    Vec2 from = Vec2::Zero(), to = Vec2::Zero();
    double bulge = 0.0;
};

struct Contours {
    std::vector<ContourContents> list;
    std::vector<Vec2> ends;              ///< loose ends of open ones
    std::vector<std::string> endLayers;  ///< of each
};

/// Every drawn piece of the file: lines, arcs, polyline pieces, circles by one half.
std::vector<LoosePiece> allPieces(const DxfFile& file);

/// Closed polylines as they are; lines, arcs and open polylines of one layer joined end to end.
Contours joinContours(const DxfFile& file);

/// Pairs of loose ends of one layer that are apart by no more than `most` (and more than rounding).
int countHairlineGaps(const Contours& contours, double most);

/// Pieces that repeat another one (either way round), and straight ones that overlap along their line; within
/// one layer, or wherever they lie.
int countDoubled(const std::vector<LoosePiece>& pieces, bool acrossLayers);

}  // namespace trammel::handover
