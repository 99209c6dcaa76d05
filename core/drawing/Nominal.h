// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/drawing/OutlineChain.h"
#include "core/survey/Survey.h"

namespace trammel::drawing {

/// An edge within this angle of an axis counts as meant along it.
inline constexpr double kAlongAxis_rad = 0.0035;  // 0.2°

/// Moves features to what was probably meant: places of corners and of the centres of holes and arcs, and of
/// edges along an axis, to the next multiple of `step_mm`; diameters of holes, radii of arcs and slots
/// likewise; edges nearly along an axis are turned onto it. Nothing is rounded in silence: returns one
/// sentence without full stop for each feature that changed, with how far each value moved and, where the ±
/// is known and smaller than that, the word "beyond". Features that lie in no outline and are no holes stay.
/// Refused: a step that is no length above 0 and up to 10 mm, a diameter or radius that would become 0.
Result<std::vector<std::string>> roundToNominal(const survey::Survey& survey, double step_mm,
                                                const PlusMinusOf& plusMinus, Features& features);

}  // namespace trammel::drawing
