// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/RowsOrder.h"

#include <algorithm>

namespace trammel::ui {

RowsOrder::RowsOrder(RowsModel& model, QObject* parent) : QSortFilterProxyModel(parent), model_(model) {
    collator_.setNumericMode(true);
    collator_.setCaseSensitivity(Qt::CaseInsensitive);
    setSourceModel(&model);
}

void RowsOrder::setWords(const QString& words) {
    words_ = words.split(QLatin1Char(' '), Qt::SkipEmptyParts);
    invalidateFilter();
}

void RowsOrder::setKeep(std::function<bool(const survey::Id&)> keep) {
    keep_ = std::move(keep);
    invalidateFilter();
}

void RowsOrder::refresh() {
    if (keep_) invalidateFilter();
}

void RowsOrder::step(int column) {
    if (sortColumn() != column)
        sort(column, Qt::AscendingOrder);
    else if (sortOrder() == Qt::AscendingOrder)
        sort(column, Qt::DescendingOrder);
    else
        sort(-1);
    Q_EMIT headerDataChanged(Qt::Horizontal, 0, std::max(0, columnCount() - 1));
}

QVariant RowsOrder::headerData(int section, Qt::Orientation orientation, int role) const {
    const QVariant heading = model_.headerData(section, orientation, role);
    if (orientation != Qt::Horizontal || role != Qt::DisplayRole || section != sortColumn()) return heading;
    return heading.toString() +
           (sortOrder() == Qt::AscendingOrder ? QStringLiteral(" ↑") : QStringLiteral(" ↓"));
}

bool RowsOrder::filterAcceptsRow(int row, const QModelIndex&) const {
    if (row < 0 || row >= model_.rowCount()) return false;
    const Row& r = model_.rows()[static_cast<std::size_t>(row)];
    if (keep_ && !keep_(r.id)) return false;
    return std::ranges::all_of(words_, [&](const QString& word) {
        return std::ranges::any_of(r.cells, [&](const Cell& cell) {
            return cell.text.contains(word, Qt::CaseInsensitive) ||
                   cell.also.contains(word, Qt::CaseInsensitive);
        });
    });
}

bool RowsOrder::lessThan(const QModelIndex& left, const QModelIndex& right) const {
    const QVariant a = left.data(RowsModel::kOrderRole), b = right.data(RowsModel::kOrderRole);
    if (a.isValid() && b.isValid()) return a.toDouble() < b.toDouble();
    if (a.isValid() != b.isValid()) return a.isValid() == (sortOrder() == Qt::AscendingOrder);
    const QString p = left.data().toString(), q = right.data().toString();
    if (p.isEmpty() != q.isEmpty()) return q.isEmpty() == (sortOrder() == Qt::AscendingOrder);
    return collator_.compare(p, q) < 0;
}

}  // namespace trammel::ui
