// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QStringList>

/// The surveys that were opened or saved lately, kept in the user's settings.
namespace trammel::ui {

inline constexpr int kMostRecent = 8;

/// Files, the last one first; they need not be there any more.
QStringList recentSurveys();
/// Puts a file (absolute) first.
void noteSurvey(const QString& file);
void forgetSurveys();

}  // namespace trammel::ui
