// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace trammel::ui {

/// Whether the palette in use is a dark one.
bool isDark();

/// Switches between the desktop's palette and our dark one (or our light one where the desktop is dark).
void setDark(bool dark);

}  // namespace trammel::ui
