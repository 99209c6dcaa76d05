// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/Panel.h"
#include "ui/tools/ToolBench.h"

class QHBoxLayout;

namespace trammel::ui {

/// Above the photograph while marks are on offer or an edge has to be chosen: the same acts as the keys.
class OfferBar : public QWidget {
    Q_OBJECT
  public:
    OfferBar(ToolBench& bench, QWidget* parent = nullptr);

  private:
    void refresh();
    void showLetters(std::size_t count);

    ToolBench& bench_;
    QLabel* state_;
    QWidget* letters_;
    std::vector<QPushButton*> letterButtons_;
    QPushButton *take_, *reject_, *back_, *next_, *all_;
};

}  // namespace trammel::ui
