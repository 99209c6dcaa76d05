// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/document/Prompts.h"

class QWidget;

namespace trammel::ui {

/// The prompts as dialogs of the desktop.
class DesktopPrompts : public Prompts {
  public:
    explicit DesktopPrompts(QWidget* parent) : parent_(parent) {}
    QString surveyToOpen() override;
    QString placeToSave(const QString& suggestion) override;
    QStringList photographs() override;
    QStringList photographsOfBoard() override;
    QString placeToHandOver(const QString& suggestion) override;
    QString placeForPage(const QString& suggestion) override;
    Unsaved unsavedChanges(const QString& survey) override;

  private:
    QWidget* parent_;
};

}  // namespace trammel::ui
