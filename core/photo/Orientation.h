// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/photo/Image.h"

namespace trammel::photo {

/// Turns a stored picture upright by its EXIF orientation 1..8 (CIPA DC-008: where row 0 and column 0 of the
/// stored picture belong). 5 to 8 swap width and height; 2, 4, 5 and 7 are mirrored. Others count as 1.
Image upright(Image stored, int orientation);

/// 2, 4, 5 and 7: a mirrored picture, which a camera hardly ever writes.
bool isMirrored(int orientation);
/// 5 to 8.
bool swapsSides(int orientation);

}  // namespace trammel::photo
