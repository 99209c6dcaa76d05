// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/ListView.h"

#include <QHeaderView>
#include <QKeyEvent>
#include <QPainter>
#include <algorithm>

namespace trammel::ui {

ListView::ListView(RowsModel& model, int elastic, const QString& emptyWords, QWidget* parent)
    : QTableView(parent), model_(model), order_(model), emptyWords_(emptyWords) {
    setModel(&order_);
    setSelectionBehavior(SelectRows);
    setSelectionMode(ExtendedSelection);
    setEditTriggers(DoubleClicked | EditKeyPressed);
    setAlternatingRowColors(true);
    setShowGrid(false);
    setWordWrap(false);
    setTabKeyNavigation(false);
    verticalHeader()->hide();
    verticalHeader()->setDefaultSectionSize(fontMetrics().height() + 8);
    horizontalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
    if (elastic >= 0) {
        horizontalHeader()->setSectionResizeMode(elastic, QHeaderView::Stretch);
    } else {
        horizontalHeader()->setSectionResizeMode(0, QHeaderView::Interactive);
        horizontalHeader()->setStretchLastSection(true);
    }
    // Widths follow the rows in sight: measuring hundreds of others took most of the time of an act.
    horizontalHeader()->setResizeContentsPrecision(0);
    horizontalHeader()->setHighlightSections(false);
    horizontalHeader()->setMinimumSectionSize(24);
    horizontalHeader()->setDefaultAlignment(Qt::AlignLeft | Qt::AlignVCenter);
    setHorizontalScrollMode(ScrollPerPixel);
    setMinimumHeight(fontMetrics().height() * 5);
    connect(selectionModel(), &QItemSelectionModel::currentRowChanged, this, [this] {
        if (!silent_) Q_EMIT chosen(currentId());
    });
    connect(selectionModel(), &QItemSelectionModel::selectionChanged, this, &ListView::selectionMoved);
}

survey::Id ListView::currentId() const { return model_.idAt(order_.mapToSource(currentIndex()).row()); }

QModelIndex ListView::indexOf(const survey::Id& id) const {
    const int row = model_.rowOf(id);
    return row < 0 ? QModelIndex() : order_.mapFromSource(model_.index(row, 0));
}

std::vector<survey::Id> ListView::shownIds() const {
    std::vector<survey::Id> ids;
    for (int row = 0; row < order_.rowCount(); ++row)
        ids.push_back(model_.idAt(order_.mapToSource(order_.index(row, 0)).row()));
    return ids;
}

std::vector<survey::Id> ListView::selectedIds() const {
    std::vector<int> rows;
    for (const auto& index : selectionModel()->selectedRows()) rows.push_back(index.row());
    std::ranges::sort(rows);
    std::vector<survey::Id> ids;
    for (int row : rows) ids.push_back(model_.idAt(order_.mapToSource(order_.index(row, 0)).row()));
    return ids;
}

void ListView::choose(const survey::Id& id) {
    if (id == currentId()) return;
    silent_ = true;
    const QModelIndex index = indexOf(id);
    if (!index.isValid()) clearSelection();
    setCurrentIndex(index);
    silent_ = false;
}

void ListView::select(const std::vector<survey::Id>& ids) {
    silent_ = true;
    QItemSelection rows;
    QModelIndex first;
    for (const auto& id : ids)
        if (const QModelIndex index = indexOf(id); index.isValid()) {
            rows.select(index, index);
            if (!first.isValid()) first = index;
        }
    selectionModel()->clear();
    if (first.isValid()) {
        selectionModel()->setCurrentIndex(first, QItemSelectionModel::NoUpdate);
        selectionModel()->select(rows, QItemSelectionModel::Select | QItemSelectionModel::Rows);
        scrollTo(first);
    }
    silent_ = false;
}

void ListView::setOrderable() {
    horizontalHeader()->setSectionsClickable(true);
    connect(horizontalHeader(), &QHeaderView::sectionClicked, &order_, &RowsOrder::step);
}

void ListView::paintEvent(QPaintEvent* event) {
    QTableView::paintEvent(event);
    if (order_.rowCount() > 0) return;
    QPainter painter(viewport());
    painter.setPen(palette().color(QPalette::Disabled, QPalette::Text));
    painter.drawText(
        viewport()->rect().adjusted(12, 8, -12, -8), Qt::AlignCenter | Qt::TextWordWrap,
        model_.rowCount() == 0 ? emptyWords_ : tr("No row is of this kind and has these words."));
}

void ListView::keyPressEvent(QKeyEvent* event) {
    if (event->key() == Qt::Key_Delete && !currentId().empty() && state() != EditingState)
        Q_EMIT removeAsked(currentId());
    else
        QTableView::keyPressEvent(event);
}

}  // namespace trammel::ui
