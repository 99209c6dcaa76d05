// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/Panel.h"
#include "ui/tools/ToolBench.h"

class QLineEdit;

namespace trammel::ui {

/// Above the photograph while the reference tool is in hand: the value of the length just clicked.
class ReferenceBar : public QWidget {
    Q_OBJECT
  public:
    ReferenceBar(PanelContext context, ToolBench& bench, QWidget* parent = nullptr);

  private:
    void refresh();
    void set();

    PanelContext context_;
    ToolBench& bench_;
    QLineEdit *value_, *sigma_, *name_;
    QPushButton* set_;
    bool wasReady_ = false;
};

}  // namespace trammel::ui
