// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QImage>
#include <map>

#include "core/photo/Image.h"

namespace trammel::ui {

/// A decoded picture, itself shrunk `shrink` (1, 2, 4 or 8) times while decoding, as 32-bit pictures of this
/// and all smaller scales up to an eighth; keys are how many times each is shrunk. A smaller one averages
/// 2 × 2 pixels of the one before (odd last rows and columns with themselves). All are made band by band in
/// one pass, while the rows are in the processor's cache: half the time of one picture after the other.
std::map<int, QImage> pyramidOf(const photo::Image& image, int shrink);

}  // namespace trammel::ui
