// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/ListView.h"
#include "ui/panels/Panel.h"

class QComboBox;
class QLabel;
class QLineEdit;

namespace trammel::ui {

/// What is thought to hold between features, each with how far the adjusted features miss it, and the form
/// to state another.
class ConditionsPanel : public QWidget {
    Q_OBJECT
  public:
    explicit ConditionsPanel(PanelContext context, QWidget* parent = nullptr);
    void refresh();
    /// Takes over features that the user selected elsewhere, as far as they fit the kind.
    void propose(const std::vector<survey::Id>& objects);

  private:
    QWidget* form();
    void refreshForm();
    void refill();
    void takeIn();
    void add();
    /// What the form says, sound or not.
    Result<survey::Condition> typed() const;
    survey::ConditionKind kind() const;

    PanelContext context_;
    RowsModel model_;
    ListView* list_;
    QComboBox *kind_, *object_;
    QLabel *chosenNames_, *stepLabel_;
    QLineEdit *sigma_, *step_;
    QPushButton *takeIn_, *startAgain_, *add_, *remove_;
    std::vector<survey::Id> chosen_;
    quint64 shownRevision_ = 0;
};

}  // namespace trammel::ui
