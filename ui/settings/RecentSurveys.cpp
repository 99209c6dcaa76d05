// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/settings/RecentSurveys.h"

#include <QSettings>

namespace trammel::ui {
namespace {

struct Stored : QSettings {
    Stored() : QSettings(IniFormat, UserScope, QStringLiteral("trammel"), QStringLiteral("window")) {}
};

const QString kKey = QStringLiteral("surveys/lately");

}  // namespace

QStringList recentSurveys() { return Stored().value(kKey).toStringList().mid(0, kMostRecent); }

void noteSurvey(const QString& file) {
    QStringList files = recentSurveys();
    if (!files.empty() && files.front() == file) return;
    files.removeAll(file);
    files.prepend(file);
    Stored().setValue(kKey, files.mid(0, kMostRecent));
}

void forgetSurveys() { Stored().remove(kKey); }

}  // namespace trammel::ui
