// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QSettings>

namespace trammel::ui {

/// What the window remembers between sessions, in one file of the user's configuration.
struct WindowSettings : QSettings {
    WindowSettings() : QSettings(IniFormat, UserScope, QStringLiteral("trammel"), QStringLiteral("window")) {}
};

}  // namespace trammel::ui
