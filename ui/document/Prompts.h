// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QString>
#include <QStringList>

namespace trammel::ui {

/// Every question that stops the user's hand goes through this seam, so that tests can answer it.
/// An empty string or list means that the user thought better of it.
class Prompts {
  public:
    enum class Unsaved { Save, Discard, Cancel };

    virtual ~Prompts() = default;
    virtual QString surveyToOpen() = 0;
    virtual QString placeToSave(const QString& suggestion) = 0;
    virtual QStringList photographs() = 0;
    /// Of a board of squares, to calibrate a lens.
    virtual QStringList photographsOfBoard() = 0;
    virtual QString placeToHandOver(const QString& suggestion) = 0;
    /// For a page to print: ends in .pdf or .svg.
    virtual QString placeForPage(const QString& suggestion) = 0;
    virtual Unsaved unsavedChanges(const QString& survey) = 0;
};

}  // namespace trammel::ui
