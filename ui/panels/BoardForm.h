// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>
#include <optional>

#include "core/base/Result.h"
#include "core/calibrate/Board.h"
#include "core/sheet/Sheet.h"

class QCheckBox;
class QComboBox;
class QFormLayout;
class QLabel;
class QLineEdit;

namespace trammel::ui {

/// The board of squares: how it is printed, and what was measured on the print. A printer's scale is off by
/// up to 2 %, so the measured lengths have no default: nothing is calibrated before they are typed.
class BoardForm : public QWidget {
    Q_OBJECT
  public:
    explicit BoardForm(QWidget* parent = nullptr);
    /// As it is to be printed, on paper of the user's choice (nothing: the smallest that holds it).
    Result<sheet::Sheet> sheetToPrint() const;
    /// As it was measured.
    Result<calibrate::Board> measured() const;
    /// The squares may be uneven and the board bowed, which photographs tell (CalibrateOptions::uneven).
    bool uneven() const;

  Q_SIGNALS:
    void printEdited();  ///< what is to be printed changed
    void edited();       ///< anything changed

  private:
    QLineEdit* line(QFormLayout* form, const char* name, const QString& label, const QString& text,
                    const QString& tip);
    Result<calibrate::Board> counts() const;
    void explain();

    QLineEdit *columns_, *rows_, *square_, *width_, *height_, *plusMinus_;
    QCheckBox *coded_, *even_;
    QComboBox* paper_;
    QLabel* note_;
    bool plusMinusTyped_ = false;
};

}  // namespace trammel::ui
