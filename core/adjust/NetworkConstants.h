// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>

#include "core/adjust/State.h"
#include "core/survey/Survey.h"

/// What the parts of Network share about the survey's cameras.
namespace trammel::adjust {

/// The constants in the order of Columns::groups; c first.
inline std::array<const survey::Constant*, kGroupUnknowns> constantsOf(const survey::CameraGroup& g) {
    return {&g.principalDistance, &g.principalX, &g.principalY, &g.k1, &g.k2, &g.k3, &g.p1, &g.p2, &g.pupil,
            &g.lightGrowth};
}

inline constexpr std::array<const char*, kGroupUnknowns> kConstantNames = {
    "principal distance", "principal point x", "principal point y", "distortion k1",  "distortion k2",
    "distortion k3",      "distortion p1",     "distortion p2",     "entrance pupil", "growth of light"};

/// The offset of the stored picture is an unknown of its own: it was cut out of a known frame, nobody knows
/// where.
inline bool cropUnknown(const survey::Photo& p) { return !p.crop.known && isCropped(p); }

/// What turns px of the stored picture into px of the full frame before the adjustment; an unknown offset
/// starts from the one given, usually the middle.
inline Vec2 firstOffset(const survey::Photo& p) {
    return cropUnknown(p) ? Vec2(p.crop.offsetX, p.crop.offsetY) : p.crop.offset();
}

}  // namespace trammel::adjust
