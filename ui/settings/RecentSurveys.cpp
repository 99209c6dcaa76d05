// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/settings/RecentSurveys.h"

#include "ui/settings/WindowSettings.h"

namespace trammel::ui {
namespace {

const QString kKey = QStringLiteral("surveys/lately");

}  // namespace

QStringList recentSurveys() { return WindowSettings().value(kKey).toStringList().mid(0, kMostRecent); }

void noteSurvey(const QString& file) {
    QStringList files = recentSurveys();
    if (!files.empty() && files.front() == file) return;
    files.removeAll(file);
    files.prepend(file);
    WindowSettings().setValue(kKey, files.mid(0, kMostRecent));
}

void forgetSurveys() { WindowSettings().remove(kKey); }

}  // namespace trammel::ui
