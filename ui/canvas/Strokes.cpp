// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/Strokes.h"

#include <QPainter>
#include <algorithm>

namespace trammel::ui {

void strokeWithHalo(QPainter& painter, const QPainterPath& path, QColor colour, double width,
                    const QList<qreal>& dashes) {
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(kHalo, width + 2.0));
    painter.drawPath(path);
    QPen pen(colour, width);
    if (!dashes.isEmpty()) pen.setDashPattern(dashes);
    painter.setPen(pen);
    painter.drawPath(path);
}

void paintPlate(QPainter& painter, const QPointF& at, const QString& text, const QColor& colour, bool must,
                Taken& taken) {
    const QSizeF size = painter.fontMetrics().boundingRect(text).size() + QSizeF(6, 2);
    const QRectF room = QRectF(painter.viewport()).adjusted(1, 1, -1, -1);
    const QPointF corners[] = {at + QPointF(6, -10 - size.height()), at + QPointF(6, 8),
                               at + QPointF(-6 - size.width(), -10 - size.height()),
                               at + QPointF(-6 - size.width(), 8)};
    const auto isFree = [&](const QPointF& corner) {
        const QRectF box(corner, size);
        return room.contains(box) &&
               std::ranges::none_of(taken, [&](const QRectF& other) { return other.intersects(box); });
    };
    const auto* corner = std::ranges::find_if(corners, isFree);
    const bool found = corner != std::end(corners);
    if (!found && (!must || !room.contains(at))) return;
    QRectF box(found ? *corner : corners[0], size);
    if (!found) {  // over others, but whole
        box.moveLeft(std::clamp(box.left(), room.left(), std::max(room.left(), room.right() - box.width())));
        box.moveTop(std::clamp(box.top(), room.top(), std::max(room.top(), room.bottom() - box.height())));
    }
    taken.push_back(box);
    painter.setPen(Qt::NoPen);
    painter.setBrush(QColor(0, 0, 0, 180));
    painter.drawRoundedRect(box, 3, 3);
    painter.setPen(colour);
    painter.drawText(box, Qt::AlignCenter, text);
}

}  // namespace trammel::ui
