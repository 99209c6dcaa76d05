// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "ui/panels/ListView.h"
#include "ui/panels/ObjectsForm.h"
#include "ui/panels/Panel.h"

class QComboBox;
class QLineEdit;
class QLabel;
class QTextBrowser;

namespace trammel::ui {

/// The ledger: wanted dimensions, readings, reference lengths and conditions in one list, each with its ± and
/// how it fared; found by words and kind, and shown in every view when chosen.
class LedgerPanel : public QWidget {
    Q_OBJECT
  public:
    explicit LedgerPanel(PanelContext context, QWidget* parent = nullptr);
    void refresh();
    /// After a change of what is chosen: a feature chosen elsewhere chooses its rows.
    void refreshChoice();
    void propose(const std::vector<survey::Id>& objects) { objects_->propose(objects); }

  Q_SIGNALS:
    void showAsked(const std::string& object);

  private:
    enum class Kinds { All, Dimensions, Matter, Readings, References, Conditions, Checks, Suspects };

    QLayout* makeFinder();
    QLayout* makeActs();
    QLayout* makeForm();
    bool isKept(Kinds kinds, const survey::Id& id) const;
    void refreshForm();
    void refreshOrigin();
    void leaveOut();
    void copy();
    void add();
    bool edit(const survey::Id& id, int column, const QString& text);
    bool tick(const survey::Id& id, int column, bool on);
    bool setValue(const survey::Id& id, const QString& text);
    bool setWanted(const survey::Id& id, const QString& text);
    bool rename(const survey::Id& id, const std::string& name);

    PanelContext context_;
    RowsModel model_;
    ListView* list_;
    ObjectsForm* objects_;
    QComboBox* kinds_;
    QLineEdit *words_, *name_;
    QLabel* summary_;
    QPushButton *show_, *out_, *origin_, *copy_, *add_, *remove_;
    QTextBrowser* page_;
    quint64 shownRevision_ = 0;
    survey::Id followed_;       ///< the feature whose rows were chosen last
    survey::Id followedEntry_;  ///< the entry that was chosen last
};

/// "Adjusted: all agrees..." in one or two sentences, for the ledger and the checks.
QString adjustmentSummary(const Document& document);

}  // namespace trammel::ui
