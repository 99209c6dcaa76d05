// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QTableView>

#include "ui/panels/RowsModel.h"

namespace trammel::ui {

/// A table over a RowsModel, with words where it is empty.
class ListView : public QTableView {
    Q_OBJECT
  public:
    /// `elastic`: the column that gives way (its words are elided) so that all others can be seen.
    ListView(RowsModel& model, int elastic, const QString& emptyWords, QWidget* parent = nullptr);

    survey::Id currentId() const;
    std::vector<survey::Id> selectedIds() const;
    /// Selects the row without telling `chosen`.
    void choose(const survey::Id& id);

  Q_SIGNALS:
    void chosen(const std::string& id);  ///< the user moved to this row; empty for none
    void selectionMoved();
    void removeAsked(const std::string& id);  ///< Delete pressed on this row

  protected:
    void paintEvent(QPaintEvent* event) override;
    void keyPressEvent(QKeyEvent* event) override;

  private:
    RowsModel& model_;
    QString emptyWords_;
    bool silent_ = false;
};

}  // namespace trammel::ui
