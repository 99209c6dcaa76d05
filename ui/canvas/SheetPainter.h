// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QRectF>

#include "core/sheet/Sheet.h"

class QPainter;

namespace trammel::ui {

/// Draws a page of core/sheet as it will be printed: white paper, millimetres scaled into `paper` (screen px,
/// whose proportions should be those of the page). Lines of text are as wide as in the written file.
void paintSheet(QPainter& painter, const sheet::Sheet& page, const QRectF& paper);

}  // namespace trammel::ui
