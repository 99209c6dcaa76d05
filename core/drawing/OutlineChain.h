// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/base/Result.h"
#include "core/geometry/Chain.h"
#include "core/survey/Survey.h"

namespace trammel::drawing {

using Features = std::map<survey::Id, adjust::FeatureGeometry>;

/// ± (k = 2, mm) of a quantity, or nothing where it is not known.
using PlusMinusOf = std::function<std::optional<double>(const survey::Dimension&)>;

struct ChainOptions {
    /// Where ± is not known: an arc and its neighbour that miss tangency by no more than this are tangent.
    double tangency_mm = 0.05;
    /// An arc that stops short of its neighbour by no more than this can only have been meant as tangent.
    double reach_mm = 0.5;
    /// A corner belongs to an edge or arc that passes it within this.
    double corner_mm = 0.5;
    PlusMinusOf plusMinus;  ///< may be empty
};

struct BuiltChain {
    geometry::Chain chain;
    std::vector<std::string> remarks;  ///< how far arcs were moved to sit tangent
};

/// The closed chain of an outline's features, in the order of the outline.
/// - edge, edge: their intersection;
/// - edge, arc and arc, arc: the tangent point when they miss tangency by no more than the ± of that miss
///   (or tangency_mm); the arc is then moved by the least amount that makes it exactly tangent to its
///   neighbours, with its radius kept wherever a circle of that radius fits. Otherwise the intersection
///   nearest to the marked ends;
/// - a corner between them is the joint itself; an arc is moved to pass through it;
/// - corner, corner: a straight line.
/// An arc runs the way that continues its tangent edges; without one, the way that holds the middle of its
/// marked part (which runs anticlockwise from spanFrom to spanTo).
/// Fails with one sentence that names the pair. Closure is exact: pieces share their vertices.
Result<BuiltChain> buildChain(const survey::Survey& survey, const survey::Outline& outline,
                              const Features& features, const ChainOptions& options);

}  // namespace trammel::drawing
