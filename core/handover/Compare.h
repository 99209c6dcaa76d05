// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/drawing/Drawing.h"
#include "core/handover/DxfReader.h"

namespace trammel::handover {

/// Largest difference of a coordinate that still counts as the same, mm.
inline constexpr double kSameCoordinate_mm = 1e-6;

/// Where a file that was read back differs from the drawing it was written from, each as one sentence; empty
/// when it holds the same. Checked: unit, every chain (layer, closed, vertices, bulges), every hole, nothing
/// more to cut than the drawing has, every dimension with its text and picture. A file that is mirrored or
/// scaled as a whole is said to be so in one sentence instead.
std::vector<std::string> differences(const drawing::Drawing& drawing, const DxfFile& file);

}  // namespace trammel::handover
