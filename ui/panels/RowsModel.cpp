// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/RowsModel.h"

#include <QFont>
#include <QGuiApplication>
#include <QIcon>
#include <QPalette>
#include <algorithm>
#include <unordered_set>

namespace trammel::ui {

namespace {

/// Icons have no equality of their own, and a variant takes two of them for different, be they the same.
bool samePicture(const QVariant& a, const QVariant& b) {
    if (a.typeId() != b.typeId()) return false;
    return a.typeId() == QMetaType::QIcon ? a.value<QIcon>().cacheKey() == b.value<QIcon>().cacheKey()
                                          : a == b;
}

}  // namespace

bool Cell::operator==(const Cell& o) const {
    return text == o.text && tip == o.tip && number == o.number && faint == o.faint && loud == o.loud &&
           editable == o.editable && exact == o.exact && also == o.also && order == o.order && bar == o.bar &&
           ticked == o.ticked && samePicture(icon, o.icon);
}

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
    std::unordered_set<survey::Id> wanted, shown;
    for (const Row& row : rows) wanted.insert(row.id);
    for (const Row& row : rows_) shown.insert(row.id);
    for (int i = static_cast<int>(rows_.size()) - 1; i >= 0; --i)
        if (!wanted.contains(rows_[static_cast<std::size_t>(i)].id)) {
            beginRemoveRows({}, i, i);
            rows_.erase(rows_.begin() + i);
            endRemoveRows();
        }
    int first = -1;  // of the rows that changed and are not yet told of: views work at every telling
    const auto tell = [&](std::size_t end) {
        if (first >= 0)
            Q_EMIT dataChanged(index(first, 0), index(static_cast<int>(end) - 1, columnCount() - 1));
        first = -1;
    };
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const bool inPlace = i < rows_.size() && rows_[i].id == rows[i].id;
        if (inPlace && rows_[i] != rows[i]) {
            rows_[i] = std::move(rows[i]);
            if (first < 0) first = static_cast<int>(i);
            continue;
        }
        tell(i);
        if (inPlace) continue;
        if (!shown.contains(rows[i].id)) {
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
    tell(rows.size());
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
        case kOrderRole:
            return cell.order ? QVariant(*cell.order) : QVariant();
        case kBarRole:
            return cell.bar ? QVariant(*cell.bar) : QVariant();
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
