// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/fit/Split.h"
#include "core/survey/Edit.h"
#include "core/survey/Survey.h"

namespace trammel::fit {

struct TrailTarget {
    survey::Id station, level;  ///< both must exist
    bool closed = false;        ///< as the trail was
    survey::OutlinePurpose purpose = survey::OutlinePurpose::Outline;
    std::string outlineName{};  ///< empty: by the purpose, numbered
    /// A corner feature, too, where two edges meet at an angle of 15° or more. Its mark is computed from the
    /// same pixels as the ends of both edges', as that of any fitted corner is.
    bool corners = true;
    /// A condition "tangent" for each edge and arc that run into each other: short arcs need it.
    bool tangents = true;
};

/// One act of the user: an edge, arc or (a whole circle) hole for each piece with its fitted mark in the
/// station, corners, conditions, and, when the trail is closed, the outline that joins them. Names go on
/// from those in use ("E7", "A3", "C5").
Result<survey::Edit> trailEdit(const survey::Survey& survey, const std::vector<Piece>& pieces,
                               const TrailTarget& target);

}  // namespace trammel::fit
