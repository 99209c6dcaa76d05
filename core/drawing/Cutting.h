// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/drawing/Drawing.h"
#include "core/survey/Survey.h"

namespace trammel::drawing {

/// Which of the holes that are no cutout of their own are cut.
enum class HoleChoice {
    Inside,  ///< those that lie inside an outline of their level
    Chosen,  ///< none: only what the survey calls a cutout
};

/// A cutout that is one hole: drilled, not milled, so it is drawn as a circle among the holes of its level.
bool isDrilled(const survey::Survey& survey, const survey::Outline& outline);

/// Decides for every hole of the drawing whether it is cut. A cutout of its own always is. Any other hole
/// belongs to an outline only where it lies inside of it and on its level; what belongs to none is drawn to
/// be seen, with the reason in `notCutBecause`. A hole that touches an outline of its level counts as inside,
/// so that checkNesting() names the clash. Needs the drawing's chains.
void decideHoles(const survey::Survey& survey, HoleChoice choice, Drawing& drawing);

/// Sentences without their full stop: what is cut, by name, and what is only drawn and why.
std::vector<std::string> cutWords(const Drawing& drawing);

}  // namespace trammel::drawing
