// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/panels/ResidualBar.h"

#include <QApplication>
#include <QPainter>
#include <algorithm>
#include <cmath>

#include "ui/panels/RowsModel.h"

namespace trammel::ui {
void ResidualBar::paint(QPainter* painter, const QStyleOptionViewItem& option,
                        const QModelIndex& index) const {
    const QVariant bar = index.data(RowsModel::kBarRole);
    if (!bar.isValid()) return QStyledItemDelegate::paint(painter, option, index);
    QStyleOptionViewItem item = option;
    initStyleOption(&item, index);
    const QString words = item.text;
    item.text.clear();
    const auto* style = item.widget ? item.widget->style() : QApplication::style();
    style->drawControl(QStyle::CE_ItemViewItem, &item, painter, item.widget);
    const bool chosen = item.state & QStyle::State_Selected;
    const QColor ink = item.palette.color(chosen ? QPalette::HighlightedText : QPalette::Text);
    const double w = bar.toDouble();
    const QRectF room = QRectF(item.rect).adjusted(3, 2, -4, -2);
    const QRectF ground(room.right() - kWidth, room.top(), kWidth, room.height());
    painter->save();
    painter->setRenderHint(QPainter::Antialiasing);
    painter->setFont(item.font);
    painter->setPen(ink);
    painter->drawText(QRectF(room.topLeft(), QPointF(ground.left() - 4, room.bottom())),
                      Qt::AlignRight | Qt::AlignVCenter, words);
    const double middle = ground.center().x(), unit = 0.5 * kWidth / kEnd;
    QColor soft = ink;
    soft.setAlpha(110);
    painter->setPen(QPen(soft, 1.0));
    painter->drawLine(QPointF(middle, ground.top()), QPointF(middle, ground.bottom()));
    painter->setPen(QPen(soft, 1.0, Qt::DotLine));
    for (const double side : {-1.0, 1.0}) {
        const double x = middle + side * kCritical * unit;
        painter->drawLine(QPointF(x, ground.top()), QPointF(x, ground.bottom()));
    }
    const bool beyond = std::abs(w) > kCritical;
    // the vermilion of the photograph's warnings; the bar's reach past the mark tells it too
    painter->setBrush(beyond && !chosen ? QColor(213, 94, 0) : soft);
    painter->setPen(Qt::NoPen);
    const double end = middle + std::clamp(w, -kEnd, kEnd) * unit;
    const double half = 0.26 * ground.height(), y = ground.center().y();
    painter->drawRect(
        QRectF(QPointF(std::min(middle, end), y - half), QPointF(std::max(middle, end), y + half)));
    if (std::abs(w) > kEnd) {
        const double s = w > 0 ? 1.0 : -1.0;
        painter->setBrush(beyond && !chosen ? QColor(213, 94, 0) : ink);
        painter->drawPolygon(
            QPolygonF({{end - 5 * s, y - 2 * half}, {end + s, y}, {end - 5 * s, y + 2 * half}}));
    }
    painter->restore();
}

QSize ResidualBar::sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const {
    QSize size = QStyledItemDelegate::sizeHint(option, index);
    if (index.data(RowsModel::kBarRole).isValid()) size.rwidth() += kWidth + 8;
    return size;
}

}  // namespace trammel::ui
