// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QCollator>
#include <QSortFilterProxyModel>
#include <functional>

#include "ui/panels/RowsModel.h"

namespace trammel::ui {

/// Which rows of a list are seen and in what order. Without an order asked for they stand as the model has
/// them. Rows that have no number in the column of the order come last, whichever way it runs.
class RowsOrder : public QSortFilterProxyModel {
    Q_OBJECT
  public:
    explicit RowsOrder(RowsModel& model, QObject* parent = nullptr);

    /// Only rows that have each of these words somewhere in their cells or tips; empty: all.
    void setWords(const QString& words);
    /// Only rows whose object is kept; null: all.
    void setKeep(std::function<bool(const survey::Id&)> keep);
    /// What is kept may have changed without its row.
    void refresh();
    /// Orders by this column: upwards, then downwards, then not at all.
    void step(int column);

    QVariant headerData(int section, Qt::Orientation orientation, int role) const override;

  protected:
    bool filterAcceptsRow(int row, const QModelIndex& parent) const override;
    bool lessThan(const QModelIndex& left, const QModelIndex& right) const override;

  private:
    RowsModel& model_;
    QStringList words_;
    std::function<bool(const survey::Id&)> keep_;
    QCollator collator_;  ///< "H2" before "H10"
};

}  // namespace trammel::ui
