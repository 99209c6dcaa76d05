// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/RowsModel.h"

#include <QFont>
#include <QGuiApplication>
#include <QPalette>
#include <algorithm>

namespace trammel::ui {

RowsModel::RowsModel(QStringList headings, QObject* parent)
    : QAbstractTableModel(parent), headings_(std::move(headings)) {}

void RowsModel::setRows(std::vector<Row> rows) {
    // Removing a row moves the view's current one, whose listeners may refresh this very list.
    next_ = std::move(rows);
    if (changing_) return;
    changing_ = true;
    while (next_) {
        std::vector<Row> wanted = std::move(*next_);
        next_.reset();
        change(std::move(wanted));
    }
    changing_ = false;
}

void RowsModel::change(std::vector<Row> rows) {
    const auto holds = [](const std::vector<Row>& list, const survey::Id& id) {
        return std::ranges::any_of(list, [&](const Row& row) { return row.id == id; });
    };
    for (int i = static_cast<int>(rows_.size()) - 1; i >= 0; --i)
        if (!holds(rows, rows_[static_cast<std::size_t>(i)].id)) {
            beginRemoveRows({}, i, i);
            rows_.erase(rows_.begin() + i);
            endRemoveRows();
        }
    for (std::size_t i = 0; i < rows.size(); ++i) {
        if (i < rows_.size() && rows_[i].id == rows[i].id) {
            if (rows_[i] == rows[i]) continue;
            rows_[i] = std::move(rows[i]);
            const int r = static_cast<int>(i);
            Q_EMIT dataChanged(index(r, 0), index(r, columnCount() - 1));
        } else if (!holds(rows_, rows[i].id)) {
            beginInsertRows({}, static_cast<int>(i), static_cast<int>(i));
            rows_.insert(rows_.begin() + static_cast<std::ptrdiff_t>(i), std::move(rows[i]));
            endInsertRows();
        } else {  // the order changed: rare enough to begin anew
            for (std::size_t k = 0; k < i; ++k) rows[k] = rows_[k];
            beginResetModel();
            rows_ = std::move(rows);
            endResetModel();
            return;
        }
    }
}

survey::Id RowsModel::idAt(int row) const {
    return row >= 0 && row < rowCount() ? rows_[static_cast<std::size_t>(row)].id : survey::Id();
}

int RowsModel::rowOf(const survey::Id& id) const {
    for (std::size_t i = 0; i < rows_.size(); ++i)
        if (rows_[i].id == id) return static_cast<int>(i);
    return -1;
}

void RowsModel::setEditors(TextEdit text, TickEdit tick) {
    textEdit_ = std::move(text);
    tickEdit_ = std::move(tick);
}

int RowsModel::rowCount(const QModelIndex& parent) const {
    return parent.isValid() ? 0 : static_cast<int>(rows_.size());
}

int RowsModel::columnCount(const QModelIndex& parent) const {
    return parent.isValid() ? 0 : static_cast<int>(headings_.size());
}

QVariant RowsModel::data(const QModelIndex& index, int role) const {
    if (!index.isValid() || index.row() >= rowCount()) return {};
    const Row& row = rows_[static_cast<std::size_t>(index.row())];
    if (role == kIdRole) return QString::fromStdString(row.id);
    if (static_cast<std::size_t>(index.column()) >= row.cells.size()) return {};
    const Cell& cell = row.cells[static_cast<std::size_t>(index.column())];
    switch (role) {
        case Qt::DisplayRole:
            return cell.text;
        case Qt::EditRole:
            return cell.exact.isEmpty() ? cell.text : cell.exact;
        case Qt::ToolTipRole:
            return cell.tip.isEmpty() ? QVariant() : QVariant(cell.tip);
        case Qt::DecorationRole:
            return cell.icon;
        case Qt::TextAlignmentRole:
            return static_cast<int>(Qt::AlignVCenter | (cell.number ? Qt::AlignRight : Qt::AlignLeft));
        case Qt::CheckStateRole:
            return cell.ticked ? QVariant(*cell.ticked ? Qt::Checked : Qt::Unchecked) : QVariant();
        case Qt::ForegroundRole:
            return cell.faint ? QVariant(QGuiApplication::palette().brush(QPalette::Disabled, QPalette::Text))
                              : QVariant();
        case Qt::FontRole: {
            if (!cell.faint && !cell.loud) return {};
            QFont font;
            font.setItalic(cell.faint);
            font.setBold(cell.loud);
            return font;
        }
        default:
            return {};
    }
}

QVariant RowsModel::headerData(int section, Qt::Orientation orientation, int role) const {
    if (orientation != Qt::Horizontal || role != Qt::DisplayRole) return {};
    return section >= 0 && section < headings_.size() ? headings_[section] : QVariant();
}

Qt::ItemFlags RowsModel::flags(const QModelIndex& index) const {
    Qt::ItemFlags flags = QAbstractTableModel::flags(index);
    if (!index.isValid()) return flags;
    const Row& row = rows_[static_cast<std::size_t>(index.row())];
    if (static_cast<std::size_t>(index.column()) >= row.cells.size()) return flags;
    const Cell& cell = row.cells[static_cast<std::size_t>(index.column())];
    if (cell.editable) flags |= Qt::ItemIsEditable;
    if (cell.ticked) flags |= Qt::ItemIsUserCheckable;
    return flags | Qt::ItemNeverHasChildren;
}

bool RowsModel::setData(const QModelIndex& index, const QVariant& value, int role) {
    if (!index.isValid()) return false;
    const survey::Id id = idAt(index.row());
    if (role == Qt::CheckStateRole && tickEdit_)
        return tickEdit_(id, index.column(), value.toInt() == Qt::Checked);
    if (role == Qt::EditRole && textEdit_ && value.toString() != data(index, Qt::EditRole).toString())
        return textEdit_(id, index.column(), value.toString());
    return false;
}

}  // namespace trammel::ui
