// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/sheet/Sheet.h"

namespace trammel::sheet {

/// The pages as one PDF (ISO 32000; 1 mm = 72/25.4 points), as bytes to be stored. Letters are embedded.
/// Refused (ErrorCode::BadValue) without pages and where a size or coordinate is not finite.
Result<std::string> pdf(const std::vector<Sheet>& pages, const std::string& title);

/// One page as SVG 1.1 with width and height in mm and a viewBox in mm. Letters are drawn as outlines.
Result<std::string> svg(const Sheet& page);

}  // namespace trammel::sheet
