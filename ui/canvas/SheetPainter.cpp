// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/SheetPainter.h"

#include <QFont>
#include <QFontMetricsF>
#include <QPainter>
#include <QPainterPath>
#include <cmath>
#include <numbers>

namespace trammel::ui {
namespace {

QColor colourOf(const sheet::Colour& c) { return QColor::fromRgbF(c[0], c[1], c[2]); }

QPen penOf(const sheet::Pen& pen) {
    QPen out(colourOf(pen.colour), pen.width_mm, Qt::SolidLine, Qt::FlatCap, Qt::MiterJoin);
    if (pen.dashes_mm.empty() || !(pen.width_mm > 0.0)) return out;
    QList<qreal> dashes;  // which Qt counts in widths of the pen, in pairs of stroke and gap
    const int times = pen.dashes_mm.size() % 2 ? 2 : 1;
    for (int i = 0; i < times; ++i)
        for (const double d : pen.dashes_mm) dashes << d / pen.width_mm;
    out.setDashPattern(dashes);
    return out;
}

QPolygonF polygonOf(const std::vector<Vec2>& points) {
    QPolygonF polygon;
    for (const Vec2& p : points) polygon << QPointF(p.x(), p.y());
    return polygon;
}

/// Draws in mm with y up, as the painter's matrix is set.
class Hand {
  public:
    explicit Hand(QPainter& painter) : painter_(painter) {}

    void operator()(const sheet::Polyline& line) const {
        painter_.setBrush(Qt::NoBrush);
        painter_.setPen(penOf(line.pen));
        if (line.closed)
            painter_.drawPolygon(polygonOf(line.points));
        else
            painter_.drawPolyline(polygonOf(line.points));
    }
    void operator()(const sheet::Area& area) const {
        painter_.setPen(Qt::NoPen);
        painter_.setBrush(colourOf(area.colour));
        painter_.drawPolygon(polygonOf(area.points));
    }
    void operator()(const sheet::Arc& arc) const {
        // Qt's angles turn the other way round, since its y points down: in our matrix they do not.
        const double degrees = 180.0 / std::numbers::pi, r = arc.radius_mm;
        const QRectF box(arc.centre.x() - r, arc.centre.y() - r, 2 * r, 2 * r);
        QPainterPath path;
        path.arcMoveTo(box, -arc.from * degrees);
        path.arcTo(box, -arc.from * degrees, -arc.sweep * degrees);
        painter_.setBrush(Qt::NoBrush);
        painter_.setPen(penOf(arc.pen));
        painter_.drawPath(path);
    }
    void operator()(const sheet::Text& text) const {
        QFont font(QStringLiteral("DejaVu Sans"));
        font.setPixelSize(100);  // outlines are scaled: hinting at the screen's size would change widths
        font.setBold(text.bold);
        font.setHintingPreference(QFont::PreferNoHinting);
        const QFontMetricsF metrics(font);
        const QString words = QString::fromStdString(text.words);
        const double drawn = metrics.horizontalAdvance(words), capitals = metrics.capHeight();
        if (!(drawn > 0.0) || !(capitals > 0.0)) return;
        const double width = sheet::widthOf(text);
        const double back = text.anchor == sheet::Anchor::Left    ? 0.0
                            : text.anchor == sheet::Anchor::Right ? width
                                                                  : width / 2;
        QPainterPath path;
        path.addText(0.0, 0.0, font, words);
        painter_.save();
        painter_.translate(text.at.x(), text.at.y());
        painter_.rotate(text.angle * 180.0 / std::numbers::pi);
        painter_.translate(-back, 0.0);
        painter_.scale(width / drawn, -text.height_mm / capitals);
        painter_.fillPath(path, colourOf(text.colour));
        painter_.restore();
    }

  private:
    QPainter& painter_;
};

}  // namespace

void paintSheet(QPainter& painter, const sheet::Sheet& page, const QRectF& paper) {
    painter.save();
    painter.setRenderHint(QPainter::Antialiasing);
    painter.fillRect(paper, Qt::white);
    painter.setClipRect(paper, Qt::IntersectClip);
    painter.translate(paper.bottomLeft());
    painter.scale(paper.width() / page.paper.width_mm, -paper.height() / page.paper.height_mm);
    const Hand hand(painter);
    for (const sheet::Item& item : page.items) std::visit(hand, item);
    painter.restore();
}

}  // namespace trammel::ui
