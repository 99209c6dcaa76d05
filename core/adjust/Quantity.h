// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Gradient.h"
#include "core/base/Result.h"

namespace trammel::adjust {

/// A survey::Quantity with its objects resolved to indices of the state.
struct QuantityTerm {
    survey::Quantity quantity = survey::Quantity::Distance;
    struct Object {
        enum class Kind { Feature, Level, Station } kind = Kind::Feature;
        int index = 0;
    };
    std::vector<Object> objects;
    double jawFlat = 0.0;  ///< width of the flats of the jaws, mm (survey::Reading)
};

/// The object's index by its id; `owner` is named in the error.
Result<QuantityTerm::Object> resolveObject(const survey::Survey& survey, const survey::Id& id,
                                           const std::string& owner);

Result<QuantityTerm> resolve(const survey::Survey& survey, survey::Quantity quantity,
                             const std::vector<survey::Id>& objects, const survey::Id& owner);

/// Value and derivative at a state. Definitions: distances between points in space; between a point and an
/// edge, and between two edges, in plan, or in space where an edge is free (two edges: mean of the distances
/// of either middle from the other); spans: that distance with the radii of holes, arcs and slots, shortened
/// to √(r² − w²/4) by jaws with flats of width w; tape: |t| − pupil, front of the lens to the datum origin.
QuantityValue evaluate(const QuantityTerm& term, const State& state, const Columns& columns);

}  // namespace trammel::adjust
