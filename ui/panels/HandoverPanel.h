// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/Panel.h"
#include "ui/tasks/HandoverWork.h"

class QComboBox;
class QLineEdit;
class QPlainTextEdit;

namespace trammel::ui {

/// Writes the drawing and shows what the written file contains, found by reading it again.
class HandoverPanel : public QWidget {
    Q_OBJECT
  public:
    explicit HandoverPanel(PanelContext context, QWidget* parent = nullptr);
    void refresh();
    void showOutcome(const QString& file, const HandedOver& outcome);

  Q_SIGNALS:
    void writeAsked(const trammel::handover::Terms& terms);

  private:
    void ask();

    PanelContext context_;
    QComboBox *face_, *version_;
    QLineEdit* revision_;
    QPushButton* write_;
    QLabel* words_;
    quint64 shown_ = 0;  ///< identity of the survey that the words are about
    QPlainTextEdit* contents_;
};

}  // namespace trammel::ui
