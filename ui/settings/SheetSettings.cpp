// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/settings/SheetSettings.h"

#include <utility>

#include "ui/settings/WindowSettings.h"

namespace trammel::ui {
namespace {

using Flag = std::pair<const char*, bool SheetSettings::*>;
constexpr Flag kFlags[] = {
    {"sheet/allViews", &SheetSettings::allViews}, {"sheet/pictures", &SheetSettings::pictures},
    {"sheet/names", &SheetSettings::names},       {"sheet/residuals", &SheetSettings::residuals},
    {"sheet/ellipses", &SheetSettings::ellipses}, {"sheet/heat", &SheetSettings::heat},
    {"sheet/carriers", &SheetSettings::carriers}};
const char* const kMethod = "sheet/thirdAngle";

}  // namespace

SheetSettings loadSheetSettings() {
    const WindowSettings stored;
    SheetSettings settings;
    for (const auto& [key, flag] : kFlags)
        settings.*flag = stored.value(QString::fromLatin1(key), settings.*flag).toBool();
    if (stored.value(QString::fromLatin1(kMethod), false).toBool())
        settings.method = unfold::Method::ThirdAngle;
    return settings;
}

void saveSheetSettings(const SheetSettings& settings) {
    WindowSettings stored;
    for (const auto& [key, flag] : kFlags) stored.setValue(QString::fromLatin1(key), settings.*flag);
    stored.setValue(QString::fromLatin1(kMethod), settings.method == unfold::Method::ThirdAngle);
}

}  // namespace trammel::ui
