// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QTableView>

#include "ui/panels/RowsOrder.h"

namespace trammel::ui {

/// A table over a RowsModel, with words where it is empty.
class ListView : public QTableView {
    Q_OBJECT
  public:
    /// `elastic`: the column that gives way (its words are elided) so that all others can be seen; −1: none
    /// does, what does not fit is scrolled to.
    ListView(RowsModel& model, int elastic, const QString& emptyWords, QWidget* parent = nullptr);

    survey::Id currentId() const;
    std::vector<survey::Id> selectedIds() const;  ///< in the order seen
    std::vector<survey::Id> shownIds() const;     ///< rows that are not filtered out, in the order seen
    /// Selects the row without telling `chosen`.
    void choose(const survey::Id& id);
    /// Selects these rows, the first of them current, without telling `chosen`.
    void select(const std::vector<survey::Id>& ids);
    /// A click on a heading puts the rows in order.
    void setOrderable();
    RowsOrder& order() { return order_; }

  Q_SIGNALS:
    void chosen(const std::string& id);  ///< the user moved to this row; empty for none
    void selectionMoved();
    void removeAsked(const std::string& id);  ///< Delete pressed on this row

  protected:
    void paintEvent(QPaintEvent* event) override;
    void keyPressEvent(QKeyEvent* event) override;

  private:
    QModelIndex indexOf(const survey::Id& id) const;

    RowsModel& model_;
    RowsOrder order_;
    QString emptyWords_;
    bool silent_ = false;
};

}  // namespace trammel::ui
