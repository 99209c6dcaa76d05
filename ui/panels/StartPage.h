// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>

namespace trammel::ui {

/// What stands in the middle while no survey is open: four ways to begin, and the job in five steps.
class StartPage : public QWidget {
    Q_OBJECT
  public:
    explicit StartPage(QWidget* parent = nullptr);

  Q_SIGNALS:
    void sampleAsked();
    void photographsAsked();
    void surveyAsked();
    void planAsked();
};

}  // namespace trammel::ui
