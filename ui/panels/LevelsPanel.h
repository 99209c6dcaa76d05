// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/ListView.h"
#include "ui/panels/Panel.h"

class QComboBox;

namespace trammel::ui {

/// Levels with their heights: choose, add, rename, remove, make one the datum, say whether it is flat.
class LevelsPanel : public QWidget {
    Q_OBJECT
  public:
    explicit LevelsPanel(PanelContext context, QWidget* parent = nullptr);
    void refresh();

  private:
    void add();
    void makeDatum();
    void remove(const survey::Id& id);
    void setForm(survey::LevelForm form);
    bool rename(const survey::Id& id, const QString& name);

    PanelContext context_;
    RowsModel model_;
    ListView* list_;
    QComboBox* form_;
    QPushButton *add_, *datum_, *remove_;
};

}  // namespace trammel::ui
