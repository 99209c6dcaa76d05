// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/unfold/Arrangement.h"

namespace trammel::ui {

/// How the unfolded part is laid out and what is drawn over it: the user's choice, kept between sessions.
struct SheetSettings {
    unfold::Method method = unfold::Method::FirstAngle;
    bool allViews = false;  ///< else as few as tell the shape: top, front and a side
    bool pictures = true, names = true;
    bool residuals = false, ellipses = false, heat = false, carriers = true;
    bool operator==(const SheetSettings&) const = default;
};

SheetSettings loadSheetSettings();
void saveSheetSettings(const SheetSettings& settings);

}  // namespace trammel::ui
