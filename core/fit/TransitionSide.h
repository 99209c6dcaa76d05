// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>

#include "core/survey/Survey.h"

/// What a photograph's marks say about the transition of one of them.
namespace trammel::fit {

/// A place beside the mark on the side of the middle of what its feature bounds. Along an outline in which
/// both neighbours are marked too, the middle lies on the side to which the chain turns, however the outline
/// is bent; else on the side where the marks of its outline or level lie. Nothing where too little is marked.
std::optional<Vec2> insideOf(const survey::Survey& survey, const survey::Mark& mark);

/// Scale in px/mm by the known lengths between features that are marked in the photograph, by that which is
/// the least foreshortened: good to some per cent, which is enough for a doubt. Nothing without one.
std::optional<double> scaleIn(const survey::Survey& survey, const survey::Id& station);

}  // namespace trammel::fit
