// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>

#include "core/base/Result.h"
#include "core/math/Types.h"
#include "core/photo/Image.h"

namespace trammel::fit {

struct RayOptions {
    double nearest_px = 8.0, farthest_px = 40.0;  ///< part of each ray that votes
    double handSigma_px = 2.0;
};

/// Points on the two edges that leave the corner near `at`, found by voting of the picture's gradient along
/// rays: one near each ray's far end. Refused when fewer than two stand out, or a third one rivals them
/// (three faces of a part meet in three edges: the picture does not say which two are meant).
Result<std::array<Vec2, 2>> edgesAround(const photo::LinearImage& image, const Vec2& at,
                                        const RayOptions& options = {});

}  // namespace trammel::fit
