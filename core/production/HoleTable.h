// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/drawing/Drawing.h"
#include "core/production/Block.h"
#include "core/standard/ClearanceHoles.h"

namespace trammel::production {

/// One cut hole. Places in mm from the part's datum, as the top view has them; ± are k = 2, 0 unknown.
struct HoleRow {
    std::string letter;  ///< A, B ... without I and O, then AA, AB ...
    survey::Id feature;
    std::string name, level;
    Vec2 centre = Vec2::Zero();
    Vec2 centrePlusMinus = Vec2::Zero();
    bool isDatum = false;  ///< the datum's origin: its place is 0 by definition
    bool onAxis = false;   ///< the datum's direction: its y is 0 by definition
    double diameter = 0.0, diameterPlusMinus = 0.0;
    standard::HoleUse use;
};

/// All cut holes of a drawing of the top face, from left to right and from below within 0.5 mm.
std::vector<HoleRow> holeRows(const drawing::Drawing& drawing, const survey::Survey& survey,
                              const adjust::Solution& solution);

/// The feature that places are counted from: the survey's, or the one the adjustment chose where the survey
/// names none (known by its covariance); empty where that cannot be told.
survey::Id originOf(const survey::Survey& survey, const adjust::Solution& solution);

/// A sentence on an origin that the survey does not name; else empty.
std::string originWords(const survey::Survey& survey, const adjust::Solution& solution);

std::string letterFor(std::size_t index);

/// x (axis 0) or y (axis 1) with its ±, or that the datum makes it 0.
std::string placeWords(const HoleRow& row, int axis);

/// The table of rows from..to (to not included). Where it would be wider than this, without the level's
/// column, then without the name's.
Block holeTable(const std::vector<HoleRow>& rows, std::size_t from, std::size_t to, double width_mm);

/// Value and ± (mm or rad) of a quantity that the survey may not have asked for; nothing where the
/// adjustment cannot tell.
std::optional<double> plusMinusOf(const adjust::Solution& solution, survey::Quantity quantity,
                                  std::vector<survey::Id> objects);

}  // namespace trammel::production
