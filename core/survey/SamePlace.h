// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <utility>
#include <vector>

#include "core/survey/Survey.h"

namespace trammel::survey {

/// Pairs of features of one kind that are marked at one place in every photograph they share: the same thing
/// marked twice under two names. "One place" means within the combined σ of the two marks (at least half a
/// pixel): corners by their distance, edges by points on one another's line over the same stretch, holes and
/// arcs by points on one another's rim over the same stretch.
///
/// A pair is only named when the shared photographs could have told the two apart. A level seen edge-on folds
/// all that lies on it into one line, so features of one level need a shared top, bottom or oblique
/// photograph, and corners of different levels (or free ones) need two shared photographs taken in different
/// directions. Excluded marks and photographs do not count.
std::vector<std::pair<Id, Id>> featuresAtOnePlace(const Survey& survey);

}  // namespace trammel::survey
