// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/drawing/Drawing.h"

/// The part as a stack of prisms: every outline reaches from its level down to what it stands on.
namespace trammel::drawing {

struct Prism {
    Id outline, level;
    std::string name;
    survey::OutlinePurpose purpose = survey::OutlinePurpose::Outline;  ///< or KeepOut: no material
    geometry::Chain outer;                                             ///< anticlockwise
    std::vector<geometry::Chain> openings;  ///< clockwise; cutouts of the same level that lie inside
    std::vector<DrawnHole> holes;           ///< those cut in it, through its whole height
    double low = 0.0, high = 0.0;           ///< mm above the datum level
    bool footKnown = true;                  ///< false: low is high, the survey tells of nothing below
    double height() const { return high - low; }
    /// Of the plan, holes and openings taken off, mm².
    double area() const;
};

/// One outline stands on another only where it reaches over it by more than this: less is a shared edge.
inline constexpr double kBeside_mm = 0.1;

struct Envelope {
    std::vector<Prism> prisms;         ///< lowest first; the part's before keep-outs
    std::vector<std::string> remarks;  ///< sentences without full stop: what stands on what, and why
};

/// Of a drawing of the top face. An outline stands on the highest lower level that has an outline
/// overlapping it in plan; where there is none, its foot is the next lower level that belongs to the part
/// (the board's bottom face); where there is none either, `thickness_mm` below it (0: not known). Outlines of
/// the level `stated` are as thick as stated whatever lies below. Walls are upright and holes go through: an
/// envelope for fitting, not the part itself.
Envelope envelopeOf(const Drawing& drawing, const survey::Survey& survey, const adjust::Solution& solution,
                    double thickness_mm = 0.0, const Id& stated = {});

}  // namespace trammel::drawing
