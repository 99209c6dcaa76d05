// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/OfferPainter.h"

#include <QLineF>
#include <QPainter>
#include <algorithm>
#include <array>
#include <cmath>

#include "ui/canvas/MarkScene.h"
#include "ui/canvas/Strokes.h"

namespace trammel::ui {
namespace {

// Of Okabe and Ito's palette, those that marks, adjusted features and suspects do not use.
const QColor kSure(0, 158, 115), kUnsure(204, 121, 167);
const std::array<QColor, 3> kRivals = {QColor(255, 255, 255), QColor(204, 121, 167), QColor(0, 158, 115)};
const std::array<QList<qreal>, 3> kRivalDashes = {QList<qreal>{}, QList<qreal>{5.0, 2.5},
                                                  QList<qreal>{1.2, 2.4}};
constexpr double kNamesFrom = 0.5;      // screen px for a px: names have room from here on, before it numbers
constexpr double kSquaresApart = 14.0;  // screen px
const QList<qreal> kDots = {1.2, 2.4};

/// A smooth line through points (Catmull and Rom's tangents), so that a dozen of them look like the rim.
QPainterPath smoothPath(const std::vector<QPointF>& p, bool round) {
    QPainterPath path;
    const int n = static_cast<int>(p.size());
    if (n < 2) return path;
    const auto at = [&](int i) {
        return p[static_cast<std::size_t>(round ? (i % n + n) % n : std::clamp(i, 0, n - 1))];
    };
    path.moveTo(p.front());
    for (int i = 0; i < (round ? n : n - 1); ++i)
        path.cubicTo(at(i) + (at(i + 1) - at(i - 1)) / 6, at(i + 1) - (at(i + 2) - at(i)) / 6, at(i + 1));
    return path;
}

std::vector<QPointF> toScreen(const std::vector<QPointF>& photo, const ViewTransform& view) {
    std::vector<QPointF> out;
    for (const QPointF& p : photo) out.push_back(view.toScreen(p));
    return out;
}

double apart(const std::vector<QPointF>& screen) {
    return screen.size() < 2 ? INFINITY : QLineF(screen[0], screen[1]).length();
}

/// Beyond the ends of the lines by turns, each in its own line's way: lines lie close together, and a letter
/// beside one would lie on the next.
QPointF letterPlace(const std::vector<QPointF>& screen, std::size_t index) {
    constexpr double kBeyond = 16.0;  // screen px
    const bool first = index % 2 == 0;
    const QPointF end = first ? screen.front() : screen.back();
    if (screen.size() < 2) return end + QPointF(kBeyond, -kBeyond);
    const QLineF out(first ? screen[1] : screen[screen.size() - 2], end);
    return out.length() > 0 ? end + kBeyond * QPointF(out.dx(), out.dy()) / out.length() : end;
}

void paintLetter(QPainter& painter, const QPointF& at, const std::string& letter, const QColor& colour) {
    painter.save();
    QFont font = painter.font();
    font.setBold(true);
    font.setPointSizeF(1.25 * font.pointSizeF());
    painter.setFont(font);
    painter.setPen(QPen(colour, 1.6));
    painter.setBrush(QColor(0, 0, 0, 210));
    painter.drawEllipse(at, 11, 11);
    painter.setPen(Qt::white);
    painter.drawText(QRectF(at - QPointF(11, 11), QSizeF(22, 22)), Qt::AlignCenter,
                     QString::fromStdString(letter));
    painter.restore();
}

std::vector<QPointF> pointsOf(const fit::Rival& rival) {
    std::vector<QPointF> out;
    for (const Vec2& p : rival.line) out.emplace_back(p.x(), p.y());
    return out;
}

}  // namespace

void paintOffers(QPainter& painter, const ViewTransform& view, const std::vector<OfferSign>& offers) {
    painter.setRenderHint(QPainter::Antialiasing);
    Taken taken;
    for (const bool current : {true, false})  // the current one gets its name first
        for (const OfferSign& o : offers) {
            if (o.current != current || o.line.empty()) continue;
            const QColor colour = o.sure ? kSure : kUnsure;
            const double width = current ? 3.2 : 2.0;
            const std::vector<QPointF> screen = toScreen(o.line, view);
            QPainterPath path = smoothPath(screen, o.round);
            if (screen.size() == 1) path.addEllipse(screen.front(), 7, 7);
            if (!o.asked)
                strokeWithHalo(painter, path, colour, width, o.sure ? QList<qreal>{6.0, 3.0} : kDots);
            if (current && !o.asked && apart(screen) > kSquaresApart) {
                QPainterPath squares;
                for (const QPointF& p : screen) squares.addRect(QRectF(p - QPointF(4, 4), QSizeF(8, 8)));
                strokeWithHalo(painter, squares, colour, 1.6);
            }
            const QString sign = o.sure ? QStringLiteral("✓ ") : QStringLiteral("? ");
            const bool named = current || view.scale() >= kNamesFrom;
            paintPlate(painter, screen[screen.size() / 2],
                       sign + QString::number(o.number) + (named ? QLatin1Char(' ') + o.name : QString()),
                       current ? QColor(Qt::white) : colour.lighter(150), current, taken);
        }
}

void paintRivals(QPainter& painter, const ViewTransform& view, const std::vector<fit::Rival>& rivals,
                 bool bold) {
    painter.setRenderHint(QPainter::Antialiasing);
    for (std::size_t i = 0; i < rivals.size(); ++i) {
        if (rivals[i].line.empty()) continue;
        const std::vector<QPointF> screen = toScreen(pointsOf(rivals[i]), view);
        const QColor colour = kRivals[i % kRivals.size()];
        strokeWithHalo(painter, smoothPath(screen, false), colour, bold ? 2.4 : 1.4,
                       kRivalDashes[i % kRivalDashes.size()]);
        if (!bold) continue;
        paintLetter(painter, letterPlace(screen, i), fit::letterOf(i), colour);
    }
}

int rivalAt(const std::vector<fit::Rival>& rivals, const QPointF& photo, double reach) {
    int best = -1;
    for (std::size_t i = 0; i < rivals.size(); ++i)
        if (const double d = distanceTo(pointsOf(rivals[i]), photo, false); d <= reach) {
            reach = d;
            best = static_cast<int>(i);
        }
    return best;
}

}  // namespace trammel::ui
