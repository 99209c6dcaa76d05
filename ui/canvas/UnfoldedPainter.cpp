// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/UnfoldedPainter.h"

#include <QCoreApplication>
#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/drawing/Format.h"

namespace trammel::ui {
namespace {

using unfold::Placed;
using unfold::Trace;

// Line types of ISO 128-2, in widths of the line: long-dashed dotted for centres, dashed for what is only the
// end of the marks. Projectors and dimension lines are narrow (half of an outline's width).
const QList<qreal> kCentreDashes = {12.0, 3.0, 1.0, 3.0};
const QList<qreal> kEndDashes = {5.0, 3.0};
constexpr double kWide = 2.0, kNarrow = 1.0;
constexpr double kLeastForNames = 180.0;  // px of a view's width
constexpr int kRings = 8;                 // places tried above and below one another for words
constexpr double kSignRoom = 9.0;         // px between the signs of marked points, that they stay signs

QPainterPath pathOf(const std::vector<Vec2>& points, const SheetTransform& view, bool closed) {
    QPainterPath path;
    for (std::size_t i = 0; i < points.size(); ++i)
        i == 0 ? path.moveTo(view.toScreen(points[i])) : path.lineTo(view.toScreen(points[i]));
    if (closed && points.size() > 2) path.closeSubpath();
    return path;
}

void stroke(QPainter& painter, const QPainterPath& path, const QColor& colour, double width,
            const QColor& halo, const QList<qreal>& dashes = {}) {
    painter.setBrush(Qt::NoBrush);
    if (halo.alpha() > 0) {
        painter.setPen(QPen(halo, width + 2.0));
        painter.drawPath(path);
    }
    QPen pen(colour, width);
    pen.setCapStyle(Qt::FlatCap);
    if (!dashes.isEmpty()) pen.setDashPattern(dashes);
    painter.setPen(pen);
    painter.drawPath(path);
}

QPainterPath shapeOf(const SheetLine& line, const Placed& f, const SheetTransform& view, double size) {
    if (line.points.size() > 1) return pathOf(line.points, view, f.closed);
    QPainterPath path;  // a corner
    path.addEllipse(view.toScreen(line.points.front()), size, size);
    return path;
}

void paintFeature(QPainter& painter, const UnfoldedScene& scene, const SheetLine& line,
                  const SheetTransform& view, const SheetLook& look, const SheetColours& colours) {
    const Placed& f = *scene.feature(line.feature);
    const bool strong = f.level == look.level;
    const bool chosen = std::ranges::find(look.chosen, line.feature) != look.chosen.end();
    QColor colour = strong ? colours.level : colours.faint;
    double width = strong ? 1.6 : kNarrow;
    if (look.settings.heat && f.plusMinus() > 0.0) {
        colour = heatColour(heatShare(f.plusMinus(), scene.plusMinusRange()));
        width = 2.4;
    }
    if (chosen) colour = colours.chosen, width = 2.6;
    const bool quiet = !strong && !chosen && !look.settings.heat;
    if (quiet && line.points.size() == 1) {  // corners of other levels: a dot
        painter.setPen(Qt::NoPen);
        painter.setBrush(colour);
        painter.drawEllipse(view.toScreen(line.points.front()), 1.5, 1.5);
        return;
    }
    stroke(painter, shapeOf(line, f, view, chosen ? 4.5 : 3.0), colour, width,
           quiet ? QColor(0, 0, 0, 0) : colours.halo);
}

/// The ellipse of ± (k = 2 along each of its axes), enlarged; of an edge only a bar across it.
void paintEllipse(QPainter& painter, const UnfoldedScene& scene, const SheetLine& line,
                  const SheetTransform& view, const SheetLook& look, const SheetColours& colours) {
    const Placed& f = *scene.feature(line.feature);
    if (!f.covariance || (f.level != look.level && !look.settings.heat)) return;
    const unfold::Axes axes = unfold::axesOf(line.view);
    Mat23 J;
    J.row(0) = scene.arrangement().unturned(axes.right).transpose();
    J.row(1) = scene.arrangement().unturned(axes.up).transpose();
    const Mat2 m = J * *f.covariance * J.transpose();
    // half the sum and half the difference of the two eigenvalues, and the direction of the larger
    const double mean = 0.5 * m.trace(), apart = std::hypot(0.5 * (m(0, 0) - m(1, 1)), m(0, 1));
    const double angle = 0.5 * std::atan2(2.0 * m(0, 1), m(0, 0) - m(1, 1));
    const double a = 2.0 * std::sqrt(std::max(0.0, mean + apart)),
                 b = 2.0 * std::sqrt(std::max(0.0, mean - apart));
    const Vec2 major(std::cos(angle), std::sin(angle)), minor(-major.y(), major.x());
    QPainterPath path;
    constexpr int kSteps = 40;
    for (int i = 0; i <= kSteps; ++i) {
        const double t = 2 * std::numbers::pi * i / kSteps;
        const Vec2 p =
            line.anchor + look.plusMinusScale * (a * std::cos(t) * major + b * std::sin(t) * minor);
        i == 0 ? path.moveTo(view.toScreen(p)) : path.lineTo(view.toScreen(p));
    }
    stroke(painter, path, colours.chosen, 1.4, colours.halo);
}

void paintResiduals(QPainter& painter, const UnfoldedScene& scene, int index, const SheetTransform& view,
                    const SheetLook& look, const SheetColours& colours) {
    const SheetLine& line = scene.lines()[static_cast<std::size_t>(index)];
    if (scene.feature(line.feature)->level != look.level) return;
    QPainterPath path;
    for (const auto& seen : scene.seen(index)) {
        if (seen.excluded) continue;
        for (std::size_t i = 0; i < seen.at.size(); ++i) {
            const QPointF from = view.toScreen(seen.adjusted[i]);
            const Vec2 d = look.residualScale * (seen.at[i] - seen.adjusted[i]);
            path.moveTo(from);
            path.lineTo(from + QPointF(d.x(), -d.y()) * view.scale);
        }
    }
    stroke(painter, path, colours.residual, 1.6, colours.halo);
}

void paintNames(QPainter& painter, const UnfoldedScene& scene, const SheetTransform& view,
                const SheetLook& look, const SheetColours& colours) {
    std::vector<QRectF> taken;
    const auto& frame = scene.arrangement().frame(scene.arrangement().views().front());
    if (frame.size().x() * view.scale < kLeastForNames) return;  // they would hide the part
    for (const SheetLine& line : scene.lines()) {
        const Placed& f = *scene.feature(line.feature);
        // names of edges and corners would cover the part; holes and what is near enough get theirs
        const bool large =
            f.kind == survey::FeatureKind::Hole || f.kind == survey::FeatureKind::Slot || view.scale > 4.0;
        if (f.level != look.level || !large || !look.settings.names) continue;
        const double r = f.closed ? 0.7 * f.radius * view.scale : 0.0;
        paintWords(painter, view.toScreen(line.anchor) + QPointF(r, -r), QString::fromStdString(f.label),
                   colours, colours.ink, false, taken);
    }
}

QString valueWords(const Trace& trace, bool turned) {
    const QString name = axisName(trace.axis, turned);
    const QString value = QString::fromStdString(drawing::fixed(trace.value(), 2));
    if (!trace.sigma) return QStringLiteral("%1 %2").arg(name, value);
    if (trace.plusMinus() <= 0.0) return QStringLiteral("%1 %2 (datum)").arg(name, value);
    return QStringLiteral("%1 %2 ± %3")
        .arg(name, value,
             QString::fromStdString(drawing::fixed(trace.plusMinus(), trace.plusMinus() < 0.1 ? 3 : 2)));
}

/// The ± of a trace where its line meets the feature: a band along the line, as wide as stated.
void paintBand(QPainter& painter, const unfold::Projector& p, const SheetTransform& view,
               const SheetLook& look, QColor colour) {
    if (p.trace.plusMinus() <= 0.0) return;
    const double half = std::max(0.75, p.trace.plusMinus() * look.plusMinusScale * view.scale);
    const Vec2 along(p.across.y(), p.across.x());
    const QPointF at = view.toScreen(p.place);
    constexpr double kLength = 26.0;
    const QPointF a(p.across.x(), -p.across.y()), l(along.x(), -along.y());
    colour.setAlpha(90);
    painter.setPen(Qt::NoPen);
    painter.setBrush(colour);
    painter.drawPolygon(QPolygonF({at - l * kLength - a * half, at + l * kLength - a * half,
                                   at + l * kLength + a * half, at - l * kLength + a * half}));
    colour.setAlpha(255);
    QPainterPath sides;
    for (const double s : {-half, half}) {
        sides.moveTo(at - l * kLength + a * s);
        sides.lineTo(at + l * kLength + a * s);
    }
    stroke(painter, sides, colour, kNarrow, QColor(0, 0, 0, 0));
}

/// Where the photograph of a view has the feature, as it was marked.
void paintMarked(QPainter& painter, const UnfoldedScene& scene, int feature, const SheetTransform& view,
                 const SheetColours& colours) {
    for (std::size_t i = 0; i < scene.lines().size(); ++i) {
        if (scene.lines()[i].feature != feature) continue;
        QPainterPath signs;
        std::vector<QPointF> drawn;
        for (const auto& seen : scene.seen(static_cast<int>(i)))
            for (const Vec2& p : seen.at) {
                const QPointF at = view.toScreen(p);
                const auto near = [&](const QPointF& q) { return (q - at).manhattanLength() < kSignRoom; };
                if (std::ranges::any_of(drawn, near)) continue;
                drawn.push_back(at);
                signs.moveTo(at + QPointF(-3.5, -3.5));
                signs.lineTo(at + QPointF(3.5, 3.5));
                signs.moveTo(at + QPointF(-3.5, 3.5));
                signs.lineTo(at + QPointF(3.5, -3.5));
            }
        stroke(painter, signs, colours.ink, kNarrow, colours.halo);
    }
}

}  // namespace

SheetColours SheetColours::of(bool dark, bool overPictures) {
    SheetColours c;
    c.bench = dark ? QColor(24, 26, 28) : QColor(203, 199, 189);
    c.paper = dark ? QColor(38, 42, 46) : QColor(250, 248, 242);
    c.ink = dark ? QColor(226, 226, 222) : QColor(34, 38, 42);
    c.halo = dark || overPictures ? QColor(12, 14, 16, 165) : QColor(250, 248, 242, 190);
    const bool deep = !dark && !overPictures;  // on light paper
    c.faint = deep ? QColor(120, 126, 132, 130) : QColor(226, 230, 234, 120);
    c.level = deep ? QColor(0, 96, 160) : QColor(110, 196, 245);
    c.chosen = deep ? QColor(198, 84, 0) : QColor(255, 176, 32);
    c.hovered = deep ? QColor(150, 50, 110) : QColor(236, 150, 200);
    c.residual = deep ? QColor(140, 110, 0) : QColor(240, 228, 66);
    return c;
}

QColor heatColour(double share) {
    // Dark blue over grey to yellow, lightness growing evenly: kept apart by every kind of colour vision.
    constexpr double kStops[5][3] = {
        {20, 52, 110}, {72, 86, 112}, {124, 123, 120}, {186, 170, 104}, {255, 233, 69}};
    const double at = std::clamp(share, 0.0, 1.0) * 4.0;
    const int i = std::min(3, static_cast<int>(at));
    const double f = at - i;
    const auto mix = [&](int k) {
        return static_cast<int>(std::lround((1 - f) * kStops[i][k] + f * kStops[i + 1][k]));
    };
    return {mix(0), mix(1), mix(2)};
}

double heatShare(double plusMinus, std::pair<double, double> range) {
    if (!(range.first > 0.0) || !(range.second > range.first) || !(plusMinus > 0.0)) return 0.0;
    return std::log(plusMinus / range.first) / std::log(range.second / range.first);
}

QString axisName(int axis, bool turned) {
    const QString name = QStringLiteral("xyz").mid(axis, 1);
    return turned && axis < 2 ? name + QChar(0x2032) : name;
}

bool paintWords(QPainter& painter, const QPointF& at, const QString& text, const SheetColours& colours,
                const QColor& ink, bool must, std::vector<QRectF>& taken) {
    const QSizeF size = painter.fontMetrics().boundingRect(text).size() + QSizeF(8, 2);
    const QRectF room = QRectF(painter.viewport()).adjusted(2, 2, -2, -2);
    const auto isFree = [&](const QRectF& box) {
        return room.contains(box) &&
               std::ranges::none_of(taken, [&](const QRectF& other) { return other.intersects(box); });
    };
    // beside its place, then further off: right before left, above before below
    QRectF box;
    bool found = false;
    const int rings = must ? kRings : 1;
    for (int ring = 0; ring < rings && !found; ++ring)
        for (int side = 0; side < 4 && !found; ++side) {
            const double away = 6.0 + ring * (size.height() + 1.0);
            const double x = side < 2 ? 6.0 : -6.0 - size.width();
            const double y = side % 2 == 0 ? -away - size.height() : away;
            box = QRectF(at + QPointF(x, y), size);
            found = isFree(box);
        }
    if (!found && !must) return false;
    if (!found) {  // crowded: within the sheet's window at least
        box = QRectF(at + QPointF(6.0, -6.0 - size.height()), size);
        box.moveLeft(std::clamp(box.left(), room.left(), std::max(room.left(), room.right() - box.width())));
        box.moveTop(std::clamp(box.top(), room.top(), std::max(room.top(), room.bottom() - box.height())));
        for (int i = 0; i < kRings && !isFree(box); ++i) box.translate(0, size.height() + 1);
        box.moveTop(std::min(box.top(), room.bottom() - box.height()));
    }
    taken.push_back(box);
    QColor paper = colours.paper;
    paper.setAlpha(225);
    painter.setPen(Qt::NoPen);
    painter.setBrush(paper);
    painter.drawRoundedRect(box, 2, 2);
    painter.setPen(ink);
    painter.drawText(box, Qt::AlignCenter, text);
    return true;
}

void paintSheet(QPainter& painter, const UnfoldedScene& scene, const SheetTransform& view,
                const SheetLook& look) {
    painter.setRenderHint(QPainter::Antialiasing);
    const SheetColours colours = SheetColours::of(look.dark, look.settings.pictures);
    for (const bool strong : {false, true})
        for (const SheetLine& line : scene.lines())
            if ((scene.feature(line.feature)->level == look.level) == strong)
                paintFeature(painter, scene, line, view, look, colours);
    for (const auto& outline : scene.outlines())
        if (outline.level == look.level && !look.settings.heat)
            stroke(painter, pathOf(outline.points, view, true), colours.level, kWide + 0.6, colours.halo);
    if (look.settings.residuals)
        for (std::size_t i = 0; i < scene.lines().size(); ++i)
            paintResiduals(painter, scene, static_cast<int>(i), view, look, colours);
    if (look.settings.ellipses)
        for (const SheetLine& line : scene.lines()) paintEllipse(painter, scene, line, view, look, colours);
    for (const SheetLine& line : scene.lines())  // above the outline that runs over them
        if (std::ranges::find(look.chosen, line.feature) != look.chosen.end())
            paintFeature(painter, scene, line, view, look, colours);
    paintNames(painter, scene, view, look, colours);
}

void paintProjectors(QPainter& painter, const UnfoldedScene& scene, const SheetTransform& view,
                     const SheetLook& look, const SheetHit& of, bool hovered, std::vector<QRectF>& taken) {
    const Placed* f = scene.feature(of.feature);
    if (!f) return;
    painter.setRenderHint(QPainter::Antialiasing);
    const SheetColours colours = SheetColours::of(look.dark, look.settings.pictures);
    const SheetColours onPaper = SheetColours::of(look.dark, false);
    const QColor colour = hovered ? colours.hovered : colours.chosen;
    const QColor lineColour = hovered ? onPaper.hovered : onPaper.chosen;
    QColor halo = onPaper.paper;
    halo.setAlpha(150);
    const auto traces = unfold::tracesOf(scene.solution(), *f, scene.turn());
    const auto lines = unfold::projectors(scene.arrangement(), traces, of.view);
    const bool turned = scene.turn() != 0.0;
    for (const auto& p : lines) {
        const auto& dashes = p.trace.role == Trace::Role::Centre ? kCentreDashes
                             : p.trace.role == Trace::Role::End  ? kEndDashes
                                                                 : QList<qreal>();
        stroke(painter, pathOf(p.path, view, false), lineColour,
               p.trace.role == Trace::Role::Line ? 1.2 : kNarrow, halo, dashes);
    }
    for (const auto& p : lines) paintBand(painter, p, view, look, colour);
    for (const View v : scene.arrangement().views())
        if (const SheetLine* line = scene.line(of.feature, v))
            stroke(painter, shapeOf(*line, *f, view, 5.0), colour, hovered ? 2.4 : 2.8, colours.halo);
    paintMarked(painter, scene, of.feature, view, colours);
    if (const SheetLine* own = scene.line(of.feature, of.view))
        paintWords(painter, view.toScreen(own->anchor), QString::fromStdString(f->label), onPaper,
                   onPaper.ink, true, taken);
    for (const auto& p : lines) {  // one value a view and axis: the centre, or a line
        const bool rim = p.trace.role == Trace::Role::Line && f->radius > 0.0;
        if (p.trace.role != Trace::Role::End && !rim)
            paintWords(painter, view.toScreen(p.place), valueWords(p.trace, turned), onPaper, onPaper.ink,
                       true, taken);
    }
}

void paintSymbol(QPainter& painter, unfold::Method method, const QPointF& middle, double height,
                 const QColor& ink) {
    const unfold::Symbol s = unfold::symbolOf(method);
    const double scale = height / (2.0 * s.wide + 0.6);
    const auto at = [&](const Vec2& p) { return middle + QPointF(p.x(), -p.y()) * scale; };
    painter.save();
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(ink, 1.4));
    QPolygonF cone;
    for (const Vec2& p : s.cone) cone << at(p);
    painter.drawPolygon(cone);
    for (const double r : {s.narrow, s.wide}) painter.drawEllipse(at(s.circles), r * scale, r * scale);
    QPen centre(ink, 0.8);
    centre.setDashPattern({6.0, 2.0, 1.0, 2.0});
    painter.setPen(centre);
    for (const auto& [a, b] : s.centreLines) painter.drawLine(at(a), at(b));
    painter.restore();
}

}  // namespace trammel::ui
