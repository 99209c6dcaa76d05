// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/ListView.h"

#include <QHeaderView>
#include <QKeyEvent>
#include <QPainter>
#include <algorithm>

namespace trammel::ui {

ListView::ListView(RowsModel& model, int elastic, const QString& emptyWords, QWidget* parent)
    : QTableView(parent), model_(model), emptyWords_(emptyWords) {
    setModel(&model);
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
    horizontalHeader()->setSectionResizeMode(elastic, QHeaderView::Stretch);
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

survey::Id ListView::currentId() const { return model_.idAt(currentIndex().row()); }

std::vector<survey::Id> ListView::selectedIds() const {
    std::vector<int> rows;
    for (const auto& index : selectionModel()->selectedRows()) rows.push_back(index.row());
    std::ranges::sort(rows);
    std::vector<survey::Id> ids;
    for (int row : rows) ids.push_back(model_.idAt(row));
    return ids;
}

void ListView::choose(const survey::Id& id) {
    if (id == currentId()) return;
    silent_ = true;
    const int row = model_.rowOf(id);
    if (row < 0) {
        clearSelection();
        setCurrentIndex({});
    } else {
        setCurrentIndex(model_.index(row, 0));
    }
    silent_ = false;
}

void ListView::paintEvent(QPaintEvent* event) {
    QTableView::paintEvent(event);
    if (model_.rowCount() > 0) return;
    QPainter painter(viewport());
    painter.setPen(palette().color(QPalette::Disabled, QPalette::Text));
    painter.drawText(viewport()->rect().adjusted(12, 8, -12, -8), Qt::AlignCenter | Qt::TextWordWrap,
                     emptyWords_);
}

void ListView::keyPressEvent(QKeyEvent* event) {
    if (event->key() == Qt::Key_Delete && !currentId().empty() && state() != EditingState)
        Q_EMIT removeAsked(currentId());
    else
        QTableView::keyPressEvent(event);
}

}  // namespace trammel::ui
