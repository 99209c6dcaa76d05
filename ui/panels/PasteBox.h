// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/Panel.h"

class QLabel;
class QLineEdit;
class QPlainTextEdit;

namespace trammel::ui {

/// Where readings from a sheet of cells are pasted and looked through: sound lines go into the survey as one
/// act, the others stay to be mended, each with what is wrong.
class PasteBox : public QWidget {
    Q_OBJECT
  public:
    explicit PasteBox(PanelContext context, QWidget* parent = nullptr);
    /// Text comes in, and is looked through.
    void put(const QString& text);
    void refresh();  ///< after a change of the survey

  Q_SIGNALS:
    void done();  ///< nothing is left, or the user put it away

  private:
    void takeIn();

    PanelContext context_;
    QPlainTextEdit* text_;
    QLabel* words_;
    QPushButton *take_, *close_;
};

}  // namespace trammel::ui
