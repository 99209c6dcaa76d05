// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/fit/EdgeFit.h"
#include "core/photo/Image.h"

namespace trammel::fit {

/// Points on the edge of one line or arc from the original pixels again, stretch by stretch, along a guide
/// through `course` (px of the photograph, on the edge to about half a pixel, in order). A line's guide may
/// sag a little, as a lens bends long edges. Nothing where the pixels cannot tell.
std::optional<Fit> stripsAlong(const photo::LinearImage& image, const std::vector<Vec2>& course, bool arc,
                               bool whole);

}  // namespace trammel::fit
