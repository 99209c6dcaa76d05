// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/ListView.h"
#include "ui/panels/ObjectsForm.h"
#include "ui/panels/Panel.h"

class QCheckBox;
class QLineEdit;
class QLabel;

namespace trammel::ui {

class PasteBox;

/// Readings and reference lengths, with their residuals, and the form to type a new one.
class ReadingsPanel : public QWidget {
    Q_OBJECT
  public:
    explicit ReadingsPanel(PanelContext context, QWidget* parent = nullptr);
    void refresh();
    void propose(const std::vector<survey::Id>& objects) { objects_->propose(objects); }

  private:
    QWidget* form();
    void makePasting();
    void showBox(bool box);
    void paste();
    void copy();
    void refreshForm();
    void add();
    bool editCell(const survey::Id& id, int column, const QString& text);

    PanelContext context_;
    RowsModel model_;
    ListView* list_;
    ObjectsForm* objects_;
    QLineEdit *value_, *sigma_, *name_, *jaw_;
    QLabel *valueUnit_, *sigmaUnit_, *meaning_, *jawLabel_, *jawUnit_;
    QCheckBox *check_, *reference_;
    QPushButton *add_, *remove_;
    QWidget* form_;  ///< gives way to the box for lines of cells
    PasteBox* box_;
    quint64 shownRevision_ = 0;
};

}  // namespace trammel::ui
