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
    QRectF box = painter.fontMetrics().boundingRect(text);
    box.moveTopLeft(at + QPointF(9, -9 - box.height()));
    box.adjust(-3, -1, 3, 1);
    const auto covered = [&] {
        return std::ranges::any_of(taken, [&](const QRectF& other) { return other.intersects(box); });
    };
    if (covered()) box.moveTop(at.y() + 8);
    if (covered() && !must) return;
    taken.push_back(box);
    painter.setPen(Qt::NoPen);
    painter.setBrush(QColor(0, 0, 0, 180));
    painter.drawRoundedRect(box, 3, 3);
    painter.setPen(colour);
    painter.drawText(box, Qt::AlignCenter, text);
}

}  // namespace trammel::ui
