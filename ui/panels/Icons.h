// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QIcon>

namespace trammel::ui {

/// One of the window's own line icons, drawn in the palette's text colour so that it reads in light and dark.
QIcon icon(const QString& name);

}  // namespace trammel::ui
