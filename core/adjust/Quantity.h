// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/State.h"
#include "core/base/Result.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// A survey::Quantity with its objects resolved to indices of the state.
struct QuantityTerm {
    survey::Quantity quantity = survey::Quantity::Distance;
    struct Object {
        enum class Kind { Feature, Level, Station } kind = Kind::Feature;
        int index = 0;
    };
    std::vector<Object> objects;
};

struct QuantityValue {
    double value = 0.0;           ///< mm or rad
    estimate::Gradient gradient;  ///< by the columns
};

Result<QuantityTerm> resolve(const survey::Survey& survey, survey::Quantity quantity,
                             const std::vector<survey::Id>& objects, const survey::Id& owner);

/// Value and derivative at a state. Definitions: distances between points in space; between a point and an
/// edge, and between two edges, in plan (two edges: mean of the distances of either middle from the other);
/// tape: |t|, entrance pupil to the datum origin.
QuantityValue evaluate(const QuantityTerm& term, const State& state, const Columns& columns);

}  // namespace trammel::adjust
