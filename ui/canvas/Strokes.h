// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QColor>
#include <QPainterPath>
#include <QRectF>
#include <QString>
#include <vector>

class QPainter;

/// How lines and names are drawn over any photograph so that they can be read.
namespace trammel::ui {

/// Darker than what it surrounds: keeps lines readable on light ground.
inline const QColor kHalo(0, 0, 0, 170);

/// Dashes in widths of the line; empty: a solid line.
void strokeWithHalo(QPainter& painter, const QPainterPath& path, QColor colour, double width,
                    const QList<qreal>& dashes = {});
inline const QList<qreal> kDashes = {4.0, 3.0};

/// Plates painted so far: names never lie over each other.
using Taken = std::vector<QRectF>;

/// A name in a dark plate beside its place: right above, right below, left above, left below, the first that
/// is free and whole in the painter's window; left out where none is, unless it must be seen.
void paintPlate(QPainter& painter, const QPointF& at, const QString& text, const QColor& colour, bool must,
                Taken& taken);

}  // namespace trammel::ui
