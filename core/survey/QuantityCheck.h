// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/survey/Findings.h"

/// Which objects a quantity can be taken of.
namespace trammel::survey {

constexpr bool isEdge(FeatureKind k) { return k == FeatureKind::Edge; }
/// Has a point to measure to: a corner, or the centre of a hole, arc or slot.
constexpr bool hasPoint(FeatureKind k) { return k != FeatureKind::Edge && k != FeatureKind::Curve; }
/// A circle or part of one.
constexpr bool isRound(FeatureKind k) { return k == FeatureKind::Hole || k == FeatureKind::Arc; }
constexpr bool hasRadius(FeatureKind k) { return isRound(k) || k == FeatureKind::Slot; }

/// Whether a quantity can have this many objects (an angle: two edges or three points).
bool takesCount(Quantity quantity, std::size_t count);

/// Whether this object may stand among `count` objects of the quantity.
bool takesObject(const Survey& survey, Quantity quantity, const Id& object, std::size_t count);

/// Whether this object may stand in a condition of the kind.
bool takesObject(const Survey& survey, ConditionKind kind, const Id& object);

/// Readings that jaws inside a curve may shorten.
constexpr bool takesJawFlat(Quantity q) {
    return q == Quantity::Diameter || q == Quantity::Length || q == Quantity::InnerSpan ||
           q == Quantity::OuterSpan;
}

/// Findings on the objects and on the typed value of a reading or dimension.
void checkObjects(Findings& findings, const Survey& survey, Quantity quantity,
                  const std::vector<Id>& objects);
void checkValue(Findings& findings, Quantity quantity, double value, std::size_t objects);

/// Some list of the survey holds an object with this id.
bool holds(const Survey& survey, const Id& id);

}  // namespace trammel::survey
