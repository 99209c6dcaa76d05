// SPDX-License-Identifier: GPL-3.0-or-later
// How the sheet is put together: paper, pictures, what stays, projectors, title block.
#include <QPainter>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/drawing/Format.h"
#include "core/survey/Names.h"
#include "ui/canvas/UnfoldedCanvas.h"
#include "ui/settings/Appearance.h"

namespace trammel::ui {
namespace {

constexpr double kPad = 9.0;          // px within the title block
constexpr double kLeastWhere = 70.0;  // px that the words beside a view's name need

QString number(double value, int decimals) { return QString::fromStdString(drawing::fixed(value, decimals)); }

QString levelName(const survey::Survey& survey, const survey::Id& id) {
    const auto* level = survey::find(survey.levels, id);
    return level ? QString::fromStdString(level->name.empty() ? level->id : level->name) : QString();
}

}  // namespace

void UnfoldedCanvas::paintEvent(QPaintEvent*) {
    look_.dark = isDark();
    if (lasting_.isNull() || lasting_.size() != size() * devicePixelRatioF()) paintLasting();
    QPainter painter(this);
    painter.drawPixmap(0, 0, lasting_);
    if (scene_ && hovered_) {
        std::vector<QRectF> taken = lastingTaken_;
        paintProjectors(painter, *scene_, view_, look_, *hovered_, true, taken);
    }
    if (!hasFocus()) return;
    painter.setBrush(Qt::NoBrush);
    painter.setRenderHint(QPainter::Antialiasing, false);
    painter.setPen(QPen(palette().highlight().color(), 2));
    painter.drawRect(rect().adjusted(1, 1, -1, -1));
}

void UnfoldedCanvas::paintLasting() {
    lasting_ = QPixmap(size() * devicePixelRatioF());
    lasting_.setDevicePixelRatio(devicePixelRatioF());
    lastingTaken_.clear();
    QPainter painter(&lasting_);
    painter.setFont(font());
    const SheetColours colours = SheetColours::of(look_.dark, false);
    painter.fillRect(rect(), colours.bench);
    if (!scene_) return;
    paintPaper(painter);
    if (look_.settings.pictures) paintPictures(painter);
    std::vector<QRectF> taken{titleBox()};
    paintSheet(painter, *scene_, view_, look_);
    if (!look_.dimension.empty() && look_.settings.carriers)
        paintCarriers(painter, *scene_, view_, look_, taken);
    if (chosen_.feature >= 0) paintProjectors(painter, *scene_, view_, look_, chosen_, false, taken);
    paintCaptions(painter, taken);
    paintTitleBlock(painter);
    lastingTaken_ = std::move(taken);
}

void UnfoldedCanvas::paintPaper(QPainter& painter) {
    const SheetColours colours = SheetColours::of(look_.dark, false);
    const auto& a = scene_->arrangement();
    const double captions = 2.0 * painter.fontMetrics().height();
    painter.setRenderHint(QPainter::Antialiasing, false);
    const QRectF sheet = view_.toScreen(a.whole()).adjusted(-7, -captions - 5, 7, 7);
    painter.fillRect(sheet, colours.paper);
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(colours.ink, 1.4));
    painter.drawRect(sheet);
    QColor narrow = colours.ink;
    narrow.setAlpha(70);
    for (const View v : a.views()) {
        painter.setPen(QPen(narrow, 1.0));
        painter.drawRect(view_.toScreen(a.frame(v)));
    }
    painter.setRenderHint(QPainter::Antialiasing);
    narrow.setAlpha(120);
    painter.setPen(QPen(narrow, 1.0));
    for (const View plan : {View::Top, View::Bottom})
        for (const View side : {View::Left, View::Right})
            if (const auto m = a.mitre(plan, side))
                painter.drawLine(view_.toScreen(m->from), view_.toScreen(m->to));
}

void UnfoldedCanvas::paintPictures(QPainter& painter) {
    painter.setRenderHint(QPainter::SmoothPixmapTransform);
    const SheetColours colours = SheetColours::of(look_.dark, false);
    for (const auto& side : scene_->sides()) {
        const QRectF frame = view_.toScreen(scene_->arrangement().frame(side.view));
        painter.save();
        painter.setClipRect(frame);
        const auto* picture = side.station.empty() ? nullptr : pictures_.at(side.view);
        QString words = side.missing;
        if (picture && picture->path == side.path && !picture->image.isNull()) {
            const auto& w = picture->window;
            const QPointF corner = view_.toScreen(w.topLeft);
            const QSizeF size = QSizeF(w.width, w.height) * (view_.scale / w.pxPerMm);
            painter.drawImage(QRectF(corner, size), picture->image);
        } else if (!side.station.empty()) {
            words = pictures_.problem(side.path);
            if (words.isEmpty()) words = tr("Bringing the photograph to scale…");
        }
        QColor soft = colours.ink;
        soft.setAlpha(150);
        painter.setPen(soft);
        if (!words.isEmpty() && frame.width() > 60)
            painter.drawText(frame.adjusted(8, 4, -8, -4), Qt::AlignCenter | Qt::TextWordWrap, words);
        painter.restore();
    }
}

void UnfoldedCanvas::paintCaptions(QPainter& painter, std::vector<QRectF>& taken) {
    const SheetColours colours = SheetColours::of(look_.dark, false);
    const double line = painter.fontMetrics().height();
    QFont strong = painter.font();
    strong.setBold(true);
    for (const auto& side : scene_->sides()) {
        const QRectF frame = view_.toScreen(scene_->arrangement().frame(side.view));
        const bool plan = side.view == View::Top || side.view == View::Bottom;
        const char* axis = plan ? "z" : side.view == View::Front || side.view == View::Rear ? "y" : "x";
        const double sign =
            side.view == View::Bottom || side.view == View::Front || side.view == View::Left ? -1.0 : 1.0;
        const QString prime = scene_->turn() != 0.0 && !plan ? QString(QChar(0x2032)) : QString();
        const QString where =
            side.station.empty() || !look_.settings.pictures
                ? QString()
                : tr("in scale at %1 %2 mm")
                      .arg(QString::fromLatin1(axis) + prime, number(sign * depthOf(side.view), 1));
        const QString name = viewWord(side.view);
        painter.setFont(strong);
        const double wide = painter.fontMetrics().horizontalAdvance(name) + 8.0;
        // above the frame, or in its corner where the sheet is too small for letters between the views
        const bool above = roomAbove(side.view) > line + 2.0;
        QRectF box(frame.left(), above ? frame.top() - line - 1 : frame.top(), wide, line);
        if (!above) {
            QColor plate = colours.paper;
            plate.setAlpha(210);
            painter.fillRect(box, plate);
        }
        painter.setPen(colours.ink);
        painter.drawText(box.translated(above ? 0.0 : 3.0, 0.0), Qt::AlignLeft | Qt::AlignVCenter, name);
        taken.push_back(box);
        const double left = frame.right() - box.right();
        if (!above || left < kLeastWhere) continue;
        strong.setBold(false);
        painter.setFont(strong);
        strong.setBold(true);
        QColor soft = colours.ink;
        soft.setAlpha(185);
        painter.setPen(soft);
        box = QRectF(box.topRight(), QSizeF(left, line));
        painter.drawText(
            box, Qt::AlignLeft | Qt::AlignVCenter,
            painter.fontMetrics().elidedText(where, Qt::ElideRight, static_cast<int>(box.width())));
        taken.push_back(box);
    }
}

double UnfoldedCanvas::roomAbove(View view) const {
    const auto& a = scene_->arrangement();
    const unfold::Frame& frame = a.frame(view);
    double room = 1e3;  // the sheet's own margin holds a caption
    for (const View v : a.views()) {
        const unfold::Frame& other = a.frame(v);
        if (other.low.y() >= frame.high.y() && other.low.x() < frame.high.x() &&
            other.high.x() > frame.low.x())
            room = std::min(room, (other.low.y() - frame.high.y()) * view_.scale);
    }
    return room;
}

std::vector<UnfoldedCanvas::Line> UnfoldedCanvas::titleLines() const {
    std::vector<Line> lines;
    const auto& survey = scene_->survey();
    const auto add = [&](const QString& words, bool strong = false) { lines.push_back({words, strong}); };
    if (!survey.title.empty()) add(QString::fromStdString(survey.title), true);
    const QString level = levelName(survey, look_.level);
    if (!level.isEmpty()) {
        const auto it = scene_->solution().levels.find(look_.level);
        add(it == scene_->solution().levels.end()
                ? tr("level %1").arg(level)
                : tr("level %1, z %2 mm").arg(level, number(it->second, 2)));
    }
    for (const auto& d : scene_->solution().dimensions) {
        if (d.dimension.id != look_.dimension) continue;
        const bool angle = d.dimension.quantity == survey::Quantity::Angle;
        const double unit = angle ? 180.0 / std::numbers::pi : 1.0;
        add(QStringLiteral("%1  %2 %3")
                .arg(QString::fromStdString(d.dimension.name),
                     QString::fromStdString(drawing::withPlusMinus(d.value * unit, d.plusMinus * unit)),
                     angle ? QStringLiteral("°") : QStringLiteral("mm")),
            true);
        double drawn = 0.0;
        if (!look_.settings.carriers) continue;
        for (const auto& c : d.carriers) drawn += c.share >= 0.02 ? c.share : 0.0;
        if (drawn > 0.0)
            add(tr("yellow: what carries its ±, by its share (%1 % in shares of 2 % or more)")
                    .arg(100.0 * drawn, 0, 'f', 0));
    }
    const bool bands = hovered_ || chosen_.feature >= 0 || look_.settings.ellipses;
    if (bands && scene_->usualPlusMinus() > 0.0)
        add(look_.plusMinusScale > 1.0 ? tr("± drawn %1 times as large").arg(look_.plusMinusScale, 0, 'f', 0)
                                       : tr("± drawn to scale"));
    if (look_.settings.residuals)
        add(look_.residualScale > 1.0
                ? tr("residuals drawn %1 times as large").arg(look_.residualScale, 0, 'f', 0)
                : tr("residuals drawn to scale"));
    if (look_.settings.heat && scene_->plusMinusRange().second > 0.0)
        add(tr("± from %1 to %2 mm")
                .arg(number(scene_->plusMinusRange().first, 3), number(scene_->plusMinusRange().second, 3)));
    if (scene_->turn() != 0.0)
        add(tr("x′ and y′ along the views, turned by %1° from the datum")
                .arg(number(scene_->turn() * 180.0 / std::numbers::pi, 1)));
    return lines;
}

QRectF UnfoldedCanvas::titleBox() const {
    if (!scene_) return {};
    const auto lines = titleLines();
    const double line = fontMetrics().height();
    double wide = 190.0;
    QFont strong = font();
    strong.setBold(true);
    const QFontMetricsF bold(strong);
    for (const auto& l : lines) wide = std::max(wide, bold.horizontalAdvance(l.words));
    wide = std::min(wide + 2 * kPad, width() - 12.0);
    const double ramp = look_.settings.heat ? 12.0 : 0.0;
    const double high = line * (static_cast<double>(lines.size()) + 1.7) + 2 * kPad + ramp;
    // in the corner that the arrangement leaves empty
    const bool above =
        scene_->arrangement().method() == unfold::Method::ThirdAngle && !look_.settings.allViews;
    return {width() - wide - 6.0, above ? 6.0 : height() - high - 6.0, wide, high};
}

void UnfoldedCanvas::paintTitleBlock(QPainter& painter) {
    const SheetColours colours = SheetColours::of(look_.dark, false);
    const QRectF box = titleBox();
    const double line = painter.fontMetrics().height();
    painter.setRenderHint(QPainter::Antialiasing, false);
    painter.setBrush(colours.paper);
    painter.setPen(QPen(colours.ink, 1.4));
    painter.drawRect(box);
    QRectF at = box.adjusted(kPad, kPad, -kPad, -kPad);
    QFont plain = painter.font();
    plain.setBold(false);
    for (const auto& l : titleLines()) {
        plain.setBold(l.strong);
        painter.setFont(plain);
        painter.setPen(colours.ink);
        painter.drawText(
            QRectF(at.topLeft(), QSizeF(at.width(), line)), Qt::AlignLeft | Qt::AlignVCenter,
            painter.fontMetrics().elidedText(l.words, Qt::ElideRight, static_cast<int>(at.width())));
        at.setTop(at.top() + line);
    }
    plain.setBold(false);
    painter.setFont(plain);
    if (look_.settings.heat) {
        for (int i = 0; i < 60; ++i)
            painter.fillRect(QRectF(at.left() + i * 3.0, at.top() + 2, 3.0, 8.0), heatColour(i / 59.0));
        at.setTop(at.top() + 12.0);
    }
    const double foot = 1.7 * line;
    QColor narrow = colours.ink;
    narrow.setAlpha(110);
    painter.setPen(QPen(narrow, 1.0));
    painter.drawLine(QPointF(box.left(), at.top() + 3), QPointF(box.right(), at.top() + 3));
    const double middle = at.top() + 3 + 0.5 * (box.bottom() - at.top() - 3);
    paintSymbol(painter, scene_->arrangement().method(), QPointF(at.left() + 1.15 * foot, middle), 0.8 * foot,
                colours.ink);
    painter.setPen(colours.ink);
    const QRectF note(at.left() + 2.5 * foot, middle - line, at.right() - at.left() - 2.5 * foot, 2 * line);
    const QString words = tr("1 mm is %1 px").arg(view_.scale, 0, 'f', view_.scale < 10 ? 2 : 1);
    if (painter.fontMetrics().horizontalAdvance(words) <= note.width())
        painter.drawText(note, Qt::AlignRight | Qt::AlignVCenter, words);
}

}  // namespace trammel::ui
