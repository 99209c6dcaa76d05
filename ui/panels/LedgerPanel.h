// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/ListView.h"
#include "ui/panels/ObjectsForm.h"
#include "ui/panels/Panel.h"

class QLineEdit;
class QLabel;

namespace trammel::ui {

/// The ledger: every wanted dimension with its ±, and how the adjustment as a whole fared.
class LedgerPanel : public QWidget {
    Q_OBJECT
  public:
    explicit LedgerPanel(PanelContext context, QWidget* parent = nullptr);
    void refresh();
    /// Moves to the row of this dimension, or lets go of all.
    void choose(const survey::Id& dimension);
    void propose(const std::vector<survey::Id>& objects) { objects_->propose(objects); }

  Q_SIGNALS:
    void dimensionChosen(const std::string& id);  ///< the user moved to its row; empty: to none

  private:
    void refreshForm();
    void add();
    bool setWanted(const survey::Id& id, const QString& text);
    bool rename(const survey::Id& id, const QString& name);

    PanelContext context_;
    RowsModel model_;
    ListView* list_;
    ObjectsForm* objects_;
    QLineEdit* name_;
    QLabel* summary_;
    QPushButton *add_, *remove_;
    quint64 shownRevision_ = 0;
};

/// "Adjusted: all agrees..." in one or two sentences, for the ledger and the checks.
QString adjustmentSummary(const Document& document);

}  // namespace trammel::ui
