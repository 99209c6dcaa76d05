// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Quantity.h"

namespace trammel::adjust {

/// A survey::Condition with its objects resolved to indices of the state.
struct ConditionTerm {
    survey::ConditionKind kind = survey::ConditionKind::Parallel;
    std::vector<QuantityTerm::Object> objects;
    double step = 0.0;  ///< of a pitch, mm; 0 unknown
};

Result<ConditionTerm> resolve(const survey::Survey& survey, const survey::Condition& condition);

/// By how much the condition is missed (mm), component by component, each with its derivative. Their number
/// depends on the term and the features' kinds alone. Everything is judged in plan but for edges free in
/// space, and heights.
/// - parallel, perpendicular: misalignment times the marked length of the shorter edge (ISO 1101)
/// - concentric, equal, coplanar: each object against the first
/// - symmetrical: middle of the two on the axis, and their line square to it; or the centre in their middle;
///   for two edges the difference of their distances from either end of the axis
/// - pitch: second differences of the row (unknown step), or each step and the straightness of the row
/// - tangent: distance of the centre from the edge less the radius
std::vector<QuantityValue> evaluate(const ConditionTerm& term, const State& state, const Columns& columns);

}  // namespace trammel::adjust
