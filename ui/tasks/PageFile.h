// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>

#include "core/base/Result.h"
#include "core/sheet/Sheet.h"

namespace trammel::ui {

/// Writes a page whole or not at all: as SVG where the name ends in .svg, else as PDF with this title.
Result<void> writePage(const sheet::Sheet& page, const QString& title, const QString& place);

}  // namespace trammel::ui
