// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/ListView.h"
#include "ui/panels/Panel.h"

class QLabel;
class QVBoxLayout;
class QScrollArea;

namespace trammel::ui {

/// What disagrees, in plain words with "Show", and below it every mark with its residual.
class ChecksPanel : public QWidget {
    Q_OBJECT
  public:
    explicit ChecksPanel(PanelContext context, QWidget* parent = nullptr);
    void refresh();        ///< after a change of the survey or its adjustment
    void refreshChoice();  ///< after a change of what is chosen

  Q_SIGNALS:
    void showAsked(const std::string& object);

  private:
    void refreshSuspects();
    QWidget* suspectRow(const adjust::Suspect& suspect);

    PanelContext context_;
    RowsModel model_;
    ListView* list_;
    QLabel* words_;
    QScrollArea* scroll_;
};

}  // namespace trammel::ui
