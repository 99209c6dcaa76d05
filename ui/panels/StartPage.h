// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QScrollArea>

class QListWidget;

namespace trammel::ui {

/// What stands in the middle while no survey is open: four ways to begin, the surveys opened
/// lately, and the job in five steps.
class StartPage : public QScrollArea {
    Q_OBJECT
  public:
    explicit StartPage(QWidget* parent = nullptr);
    /// Looks again at what was opened lately and whether it is there.
    void refresh();

  Q_SIGNALS:
    void sampleAsked();
    void photographsAsked();
    void surveyAsked();
    void planAsked();
    void fileAsked(const QString& file);

  protected:
    void showEvent(QShowEvent* event) override;

  private:
    QWidget* makeLately();

    QWidget* lately_ = nullptr;
    QListWidget* files_ = nullptr;
};

}  // namespace trammel::ui
