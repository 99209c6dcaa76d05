// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/geometry/Piece.h"

/// Steps of offsetAll().
namespace trammel::geometry {

/// The pieces at |d| from an anticlockwise chain, on its right for d > 0 and on its left for d < 0, cut at
/// their crossings, without those nearer than |d| to any part of the chain. They run like the chain.
std::vector<Piece> keptPieces(const Chain& chain, double d);

/// Joins pieces end to end into closed chains; nothing when ends are left over that no rounding explains.
/// Where several pieces leave one place, the border that encloses least is followed.
std::optional<std::vector<Chain>> joinPieces(std::vector<Piece> pieces);

}  // namespace trammel::geometry
