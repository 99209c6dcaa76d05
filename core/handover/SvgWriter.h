// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>

#include "core/base/Result.h"
#include "core/drawing/Drawing.h"

namespace trammel::handover {

/// Width of every stroke, mm. Some machines cut only what is thinner than some width of their own: say so to
/// them, or change it there; lines stay where they are.
inline constexpr double kSvgStroke_mm = 0.1;

/// What is to be cut, kept out or seen, as SVG 1.1 in millimetres (width and height with the unit, a viewBox
/// in mm, y down): one group a layer with the names and colours of the DXF (Layers.h), straight pieces as L,
/// arcs as A, holes as circles, nothing filled. No dimensions and no letters, which a laser would engrave;
/// the notes are in <desc>. Fails when a value is not finite.
Result<std::string> svgText(const drawing::Drawing& drawing);

}  // namespace trammel::handover
