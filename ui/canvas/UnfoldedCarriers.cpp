// SPDX-License-Identifier: GPL-3.0-or-later
// The carriers of a dimension over the sheet: a disc at the mark, a bar along the reading.
#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <cmath>

#include "ui/canvas/UnfoldedPainter.h"

namespace trammel::ui {
namespace {

constexpr double kLeastShare = 0.02;  ///< smaller ones would only cover the part

QString percent(double share) { return QStringLiteral("%1 %").arg(100.0 * share, 0, 'f', 0); }

void paintDisc(QPainter& painter, const QPointF& at, double share, const QColor& colour) {
    QColor fill = colour;
    fill.setAlpha(110);
    painter.setPen(QPen(colour, 1.6));
    painter.setBrush(fill);
    const double r = 26.0 * std::sqrt(share);  // the area tells the share
    painter.drawEllipse(at, r, r);
}

/// Places of two objects in a view, features or levels alike: a level lies where the other object is.
std::optional<std::pair<Vec2, Vec2>> endsOf(const UnfoldedScene& scene, const survey::Reading& reading,
                                            View view) {
    std::vector<Vec2> ends;
    for (const auto& object : reading.objects)
        if (const SheetLine* line = scene.line(scene.indexOf(object), view)) {
            const auto* f = scene.feature(line->feature);
            if (reading.objects.size() == 1 && f->radius > 0.0)  // a diameter
                return std::pair(Vec2(line->anchor - Vec2(f->radius, 0)),
                                 Vec2(line->anchor + Vec2(f->radius, 0)));
            ends.push_back(line->anchor);
        }
    if (ends.size() < 2) return std::nullopt;
    return std::pair(ends[0], ends[1]);
}

}  // namespace

void paintCarriers(QPainter& painter, const UnfoldedScene& scene, const SheetTransform& view,
                   const SheetLook& look, std::vector<QRectF>& taken) {
    const auto& all = scene.solution().dimensions;
    const auto dimension =
        std::ranges::find_if(all, [&](const auto& d) { return d.dimension.id == look.dimension; });
    if (dimension == all.end()) return;
    painter.setRenderHint(QPainter::Antialiasing);
    const SheetColours colours = SheetColours::of(look.dark, look.settings.pictures);
    const SheetColours onPaper = SheetColours::of(look.dark, false);
    for (const auto& carrier : dimension->carriers) {
        if (carrier.share < kLeastShare) continue;
        if (const auto* mark = survey::find(scene.survey().marks, carrier.object)) {
            for (const auto& side : scene.sides()) {
                const SheetLine* line = scene.line(scene.indexOf(mark->feature), side.view);
                if (!line || side.station != mark->station) continue;
                const QPointF at = view.toScreen(line->anchor);
                paintDisc(painter, at, carrier.share, colours.residual);
                paintWords(painter, at, percent(carrier.share), onPaper, onPaper.ink, true, taken);
            }
        } else if (const auto* reading = survey::find(scene.survey().readings, carrier.object)) {
            for (const auto& side : scene.sides()) {
                const auto ends = endsOf(scene, *reading, side.view);
                if (!ends) continue;
                const QPointF a = view.toScreen(ends->first), b = view.toScreen(ends->second);
                QPen pen(colours.residual, 2.0 + 12.0 * carrier.share);
                pen.setCapStyle(Qt::FlatCap);
                painter.setPen(pen);
                painter.drawLine(a, b);
                const QString name =
                    QString::fromStdString(reading->name.empty() ? reading->id : reading->name);
                paintWords(painter, 0.5 * (a + b), name + QStringLiteral(" ") + percent(carrier.share),
                           onPaper, onPaper.ink, true, taken);
                break;  // once is enough
            }
        }
    }
}

}  // namespace trammel::ui
