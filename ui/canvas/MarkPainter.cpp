// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/MarkPainter.h"

#include <QLineF>
#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <cmath>
#include <optional>

#include "ui/canvas/Strokes.h"

namespace trammel::ui {
namespace {

using survey::FeatureKind;

// Okabe and Ito's palette, told apart by people with any of the common colour deficiencies.
const QColor kMark(230, 159, 0), kAdjusted(86, 180, 233), kSuspect(213, 94, 0), kResidual(240, 228, 66),
    kExcluded(170, 170, 170);

/// Signs of a fitted mark's many points, screen px: closer, they would hide what was fitted.
constexpr double kSignsApart = 20.0;

QPainterPath pathOf(const std::vector<QPointF>& points, const ViewTransform& view, bool closed) {
    QPainterPath path;
    for (std::size_t i = 0; i < points.size(); ++i)
        i == 0 ? path.moveTo(view.toScreen(points[i])) : path.lineTo(view.toScreen(points[i]));
    if (closed && points.size() > 2) path.closeSubpath();
    return path;
}

void addCross(QPainterPath& path, const QPointF& at, double size) {
    path.moveTo(at - QPointF(size, 0));
    path.lineTo(at + QPointF(size, 0));
    path.moveTo(at - QPointF(0, size));
    path.lineTo(at + QPointF(0, size));
}

void paintWarning(QPainter& painter, const QPointF& at) {
    QPainterPath triangle;
    triangle.addPolygon(QPolygonF({at + QPointF(0, -26), at + QPointF(9, -10), at + QPointF(-9, -10)}));
    triangle.closeSubpath();
    painter.setPen(QPen(kHalo, 3));
    painter.setBrush(kSuspect);
    painter.drawPath(triangle);
    painter.setPen(Qt::white);
    painter.drawText(QRectF(at + QPointF(-9, -25), QSizeF(18, 17)), Qt::AlignCenter, QStringLiteral("!"));
}

/// Foot of the perpendicular from p on the line through a and b, which goes on beyond them.
QPointF footOn(const QPointF& a, const QPointF& b, const QPointF& p) {
    const QPointF ab = b - a;
    const double size = QPointF::dotProduct(ab, ab);
    return size > 0 ? a + QPointF::dotProduct(p - a, ab) / size * ab : a;
}

void paintResiduals(QPainter& painter, const SceneItem& item, const ViewTransform& view, double scale) {
    QPainterPath arrows;
    for (const QPointF& p : item.points) {
        QPointF nearest;
        if (!std::isfinite(distanceTo(item.adjusted, p, runsRound(item.kind), &nearest))) continue;
        if (item.kind == FeatureKind::Edge) {
            nearest = footOn(item.adjusted.front(), item.adjusted.back(), p);
        } else if (const bool open =
                       item.kind == FeatureKind::Arc ||
                       (item.kind == FeatureKind::Curve && item.adjusted.front() != item.adjusted.back());
                   open && (nearest == item.adjusted.front() || nearest == item.adjusted.back())) {
            continue;  // marked beyond the drawn part: only its distance across counts
        }
        const QPointF from = view.toScreen(p);
        arrows.moveTo(from);
        arrows.lineTo(from + (nearest - p) * scale);
    }
    strokeWithHalo(painter, arrows, kResidual, 2.0);
}

bool isPicked(const SceneItem& item, const MarkStyle& style) {
    return item.feature == style.pickedFeature ||
           std::ranges::find(style.shown, item.feature) != style.shown.end() ||
           (!item.mark.empty() && item.mark == style.pickedMark);
}

/// What is only predicted here is drawn for the chosen level alone, else a photograph drowns in it.
bool isDrawn(const SceneItem& item, const MarkStyle& style) {
    return !item.mark.empty() || (!style.quiet && (isPicked(item, style) || item.level == style.level));
}

void paintItem(QPainter& painter, const SceneItem& item, const ViewTransform& view, const MarkStyle& style) {
    const bool picked = isPicked(item, style);
    const double width = picked ? 3.0 : 1.6;
    if (style.showAdjusted && !style.quiet && item.adjusted.size() > 1)
        strokeWithHalo(painter, pathOf(item.adjusted, view, runsRound(item.kind)), kAdjusted, width, kDashes);
    if (style.showAdjusted && !style.quiet && item.adjusted.size() == 1) {
        QPainterPath ring;
        ring.addEllipse(view.toScreen(item.adjusted[0]), 6, 6);
        strokeWithHalo(painter, ring, kAdjusted, width);
    }
    const QColor colour = item.excluded ? kExcluded : kMark;
    if (!item.points.empty()) {
        const auto line = strokePreview(item.kind, item.points);
        if (line.size() > 1 && (item.adjusted.empty() || picked || style.quiet))
            strokeWithHalo(painter, pathOf(line, view, runsRound(item.kind)), colour, width,
                           item.excluded ? kDashes : QList<qreal>());
        QPainterPath signs;
        std::optional<QPointF> last;
        for (const QPointF& p : item.points) {
            const QPointF at = view.toScreen(p);
            if (item.fitted && !picked && last && QLineF(*last, at).length() < kSignsApart) continue;
            last = at;
            if (item.fitted) signs.addRect(QRectF(at - QPointF(3.5, 3.5), QSizeF(7, 7)));
            addCross(signs, at, item.kind == FeatureKind::Corner ? 8.0 : 5.0);
        }
        strokeWithHalo(painter, signs, colour, width);
        if (style.showResiduals && !style.quiet && !item.adjusted.empty() && !item.excluded)
            paintResiduals(painter, item, view, style.residualScale);
    }
}

void paintName(QPainter& painter, const SceneItem& item, const ViewTransform& view, const MarkStyle& style,
               Taken& taken) {
    const bool picked = isPicked(item, style);
    const QColor colour = item.excluded ? kExcluded : kMark;
    const auto& anchor = item.points.empty() ? item.adjusted : item.points;
    if (anchor.empty()) return;
    const QPointF at = view.toScreen(anchor.front());
    if ((style.showNames && !style.quiet && !item.mark.empty()) || picked || item.suspect)
        paintPlate(painter, at, item.excluded ? item.label + QStringLiteral(" (left out)") : item.label,
                   picked ? QColor(Qt::white) : colour, picked || item.suspect, taken);
    if (item.suspect) paintWarning(painter, at);
}

}  // namespace

void paintMarks(QPainter& painter, const MarkScene& scene, const ViewTransform& view,
                const MarkStyle& style) {
    painter.setRenderHint(QPainter::Antialiasing);
    Taken taken;
    // What is picked gets its name first, then what disagrees, then the chosen level's features.
    const auto rank = [&](const SceneItem& item) {
        return isPicked(item, style) ? 0 : item.suspect ? 1 : item.level == style.level ? 2 : 3;
    };
    for (const bool names : {false, true})  // above all strokes
        for (int turn = 0; turn < 4; ++turn)
            for (const auto& item : scene.items()) {
                if (!isDrawn(item, style) || rank(item) != (names ? turn : 3 - turn)) continue;
                names ? paintName(painter, item, view, style, taken) : paintItem(painter, item, view, style);
            }
}

void paintPending(QPainter& painter, const std::vector<QPointF>& screen, bool closed, bool dots) {
    painter.setRenderHint(QPainter::Antialiasing);
    QPainterPath path;
    for (std::size_t i = 0; i < screen.size(); ++i) {
        if (dots)
            addCross(path, screen[i], 7.0);
        else
            i == 0 ? path.moveTo(screen[i]) : path.lineTo(screen[i]);
    }
    if (closed && !dots && screen.size() > 2) path.closeSubpath();
    strokeWithHalo(painter, path, kMark, 2.0);
}

}  // namespace trammel::ui
