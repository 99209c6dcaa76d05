// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/UnfoldedCanvas.h"

#include <QAccessible>
#include <QKeyEvent>
#include <QMouseEvent>
#include <QWheelEvent>
#include <algorithm>
#include <cmath>

#include "core/drawing/Format.h"
#include "core/survey/Names.h"
#include "ui/document/Choice.h"
#include "ui/settings/Appearance.h"

namespace trammel::ui {
namespace {

constexpr double kStep = 1.25;       // one press of + or one notch of the wheel
constexpr double kReach = 9.0;       // screen px within which the pointer takes hold
constexpr double kStill = 4.0;       // px that a click may move
constexpr double kTitleRoom = 12.0;  // px round the sheet
constexpr int kSettle_ms = 110;

/// 1, 2, 5, 10, 20 ...: the largest that is not above `wish`, at least 1.
double niceBelow(double wish) {
    if (!(wish > 1.0)) return 1.0;
    const double ten = std::pow(10.0, std::floor(std::log10(wish)));
    return ten * (wish >= 5 * ten ? 5.0 : wish >= 2 * ten ? 2.0 : 1.0);
}

QString number(double value, int decimals) { return QString::fromStdString(drawing::fixed(value, decimals)); }

}  // namespace

UnfoldedCanvas::UnfoldedCanvas(QWidget* parent) : QWidget(parent), pictures_(this) {
    setObjectName(QStringLiteral("unfolded"));
    setMouseTracking(true);
    setFocusPolicy(Qt::StrongFocus);
    setAccessibleName(tr("Unfolded part: its views on one sheet"));
    settle_.setSingleShot(true);
    settle_.setInterval(kSettle_ms);
    connect(&settle_, &QTimer::timeout, this, &UnfoldedCanvas::wantPictures);
    connect(&pictures_, &UnfoldedPictures::arrived, this, &UnfoldedCanvas::stale);
}

void UnfoldedCanvas::stale() {
    lasting_ = QPixmap();
    update();
}

void UnfoldedCanvas::setScene(std::shared_ptr<const UnfoldedScene> scene, bool same) {
    const survey::Id wasHovered = hovered_ && scene_ && scene_->feature(hovered_->feature)
                                      ? scene_->feature(hovered_->feature)->feature
                                      : "";
    scene_ = std::move(scene);
    if (hovered_) {  // its index may be another's now
        const int index = scene_ ? scene_->indexOf(wasHovered) : -1;
        if (index < 0)
            hovered_.reset();
        else
            hovered_->feature = index;
    }
    if (!same) {
        pictures_.clear();
        fitPending_ = true;
    }
    if (fitPending_) fitView();
    refreshScales();
    settle_.start();
    stale();
}

void UnfoldedCanvas::setSettings(const SheetSettings& settings) {
    look_.settings = settings;
    wantPictures();
    stale();
}

void UnfoldedCanvas::setChoice(const survey::Id& feature, const survey::Id& entry, const survey::Id& level) {
    look_.level = level;
    look_.dimension = entry;
    look_.chosen.clear();
    chosen_ = {};
    if (scene_) {
        const int index = scene_->indexOf(feature);
        if (index >= 0 && scene_->homeOf(index)) {
            const bool here = scene_->line(index, handView_);
            chosen_ = {index, here ? handView_ : *scene_->homeOf(index)};
            look_.chosen.push_back(index);
        }
        for (const auto& object : objectsOf(scene_->survey(), entry))
            if (const int i = scene_->indexOf(object); i >= 0) look_.chosen.push_back(i);
        look_.chosenView = chosen_.view;
    }
    refreshScales();
    wantPictures();
    describe();
    stale();
}

double UnfoldedCanvas::depthOf(View view) const {
    if (!scene_) return 0.0;
    const auto& a = scene_->arrangement();
    if (view == View::Top || view == View::Bottom) {
        const auto it = scene_->solution().levels.find(look_.level);
        const double z = it == scene_->solution().levels.end() ? 0.0 : it->second;
        return view == View::Top ? z : -z;
    }
    if (const auto* f = scene_->feature(chosen_.feature)) return a.depthOf(view, f->point);
    return a.nearDepth(view);
}

void UnfoldedCanvas::wantPictures() {
    if (!scene_ || !look_.settings.pictures || !isVisible()) return;
    const double ratio = devicePixelRatioF();
    for (const auto& side : scene_->sides()) {
        if (side.station.empty()) continue;
        const unfold::Frame& frame = scene_->arrangement().frame(side.view);
        // what is in sight, with some room to move
        const QRectF seen = view_.toScreen(frame) & rect().toRectF().adjusted(-0.2 * width(), -0.2 * height(),
                                                                              0.2 * width(), 0.2 * height());
        if (seen.width() < 1.0 || seen.height() < 1.0) continue;
        // never finer than the photograph: the screen can enlarge it as well
        const double perMm = std::min(view_.scale * ratio, 2.0 * side.camera.scale_px_per_mm);
        const Vec2 topLeft = view_.toSheet(seen.topLeft()), bottomRight = view_.toSheet(seen.bottomRight());
        const unfold::Window window{
            topLeft, perMm, std::max(1, static_cast<int>(std::lround((bottomRight - topLeft).x() * perMm))),
            std::max(1, static_cast<int>(std::lround((topLeft - bottomRight).y() * perMm)))};
        const double depth = depthOf(side.view);
        const auto* have = pictures_.at(side.view);
        if (have && have->path == side.path && have->depth == depth && have->window.topLeft == topLeft &&
            have->window.pxPerMm == perMm && have->window.width == window.width &&
            have->window.height == window.height && !have->image.isNull() &&
            have->pose.R == side.camera.pose.R && have->pose.t == side.camera.pose.t)
            continue;
        pictures_.want(scene_->arrangement(), {side.path, {side.view, depth, side.camera}, window});
    }
}

void UnfoldedCanvas::retry() {
    if (!pictures_.anyProblem()) return;
    pictures_.clear();
    wantPictures();
    stale();
}

void UnfoldedCanvas::refreshScales() {
    if (!scene_) return;
    const auto scaleFor = [&](double usual, double px) {
        return usual > 0.0 ? niceBelow(px / (usual * view_.scale)) : 1.0;
    };
    look_.plusMinusScale = scaleFor(scene_->usualPlusMinus(), 7.0);
    look_.residualScale = scaleFor(scene_->usualResidual(), 16.0);
}

void UnfoldedCanvas::fitView() {
    fitPending_ = true;  // stays fitted while the window takes its first sizes
    if (!scene_ || width() < 10 || height() < 10) return;
    const unfold::Frame whole = scene_->arrangement().whole();
    const double captions = 2.0 * fontMetrics().height() + kTitleRoom;
    const QRectF room(kTitleRoom, captions, std::max(10.0, width() - 2 * kTitleRoom),
                      std::max(10.0, height() - captions - kTitleRoom));
    view_.scale = std::min(room.width() / std::max(1.0, whole.size().x()),
                           room.height() / std::max(1.0, whole.size().y()));
    const Vec2 middle = 0.5 * (whole.low + whole.high);
    view_.offset = room.center() - QPointF(middle.x(), -middle.y()) * view_.scale;
    refreshScales();
    settle_.start();
    stale();
}

void UnfoldedCanvas::zoom(double factor) {
    const QPointF at = rect().contains(mapFromGlobal(QCursor::pos())) && underMouse()
                           ? QPointF(mapFromGlobal(QCursor::pos()))
                           : rect().toRectF().center();
    const Vec2 fixed = view_.toSheet(at);
    view_.scale = std::clamp(view_.scale * factor, 0.02, 200.0);
    view_.offset = at - QPointF(fixed.x(), -fixed.y()) * view_.scale;
    moved();
}

void UnfoldedCanvas::moved() {
    fitPending_ = false;
    if (scene_) {  // some of the sheet always stays in sight
        const QRectF sheet = view_.toScreen(scene_->arrangement().whole());
        constexpr double kKeep = 60.0;
        if (sheet.right() < kKeep) view_.offset.rx() += kKeep - sheet.right();
        if (sheet.left() > width() - kKeep) view_.offset.rx() -= sheet.left() - width() + kKeep;
        if (sheet.bottom() < kKeep) view_.offset.ry() += kKeep - sheet.bottom();
        if (sheet.top() > height() - kKeep) view_.offset.ry() -= sheet.top() - height() + kKeep;
    }
    refreshScales();
    settle_.start();
    stale();
}

void UnfoldedCanvas::resizeEvent(QResizeEvent*) {
    if (fitPending_) fitView();
    settle_.start();
    stale();
}

void UnfoldedCanvas::setHovered(std::optional<SheetHit> hit) {
    if (hit == hovered_) return;
    hovered_ = hit;
    setCursor(hovered_ ? Qt::PointingHandCursor : Qt::ArrowCursor);
    describe();
    update();
}

void UnfoldedCanvas::hover(const QPointF& at) {
    pointerWords_.clear();
    if (!scene_) return setHovered(std::nullopt);
    const Vec2 sheet = view_.toSheet(at);
    setHovered(scene_->at(sheet, kReach / view_.scale, look_.level));
    if (const auto view = scene_->arrangement().viewAt(sheet)) {
        const Vec3 part = scene_->arrangement().toPart(*view, sheet, depthOf(*view));
        pointerWords_ =
            tr("x %1  y %2  z %3 mm").arg(number(part.x(), 2), number(part.y(), 2), number(part.z(), 2));
    }
    Q_EMIT pointerMoved();
}

QString UnfoldedCanvas::featureWords(int feature) const {
    const auto* f = scene_ ? scene_->feature(feature) : nullptr;
    if (!f) return {};
    const auto* level = survey::find(scene_->survey().levels, f->level);
    QString words = QString::fromStdString(survey::describe(scene_->survey(), f->feature));
    if (level)
        words += tr(", level %1").arg(QString::fromStdString(level->name.empty() ? level->id : level->name));
    if (f->plusMinus() > 0.0)
        words += tr(", place ± %1 mm").arg(number(f->plusMinus(), f->plusMinus() < 0.1 ? 3 : 2));
    return words;
}

QString UnfoldedCanvas::words() const {
    if (!scene_) return {};
    if (hovered_)
        return tr("Click: chooses %1. Double-click: opens its photograph.")
            .arg(featureWords(hovered_->feature));
    if (chosen_.feature >= 0)
        return tr("%1. Enter: opens its photograph · arrows: the next feature that way · Shift+↑↓: level · "
                  "+ − 0: scale · Esc: lets go.")
            .arg(featureWords(chosen_.feature));
    return tr(
        "Point at a feature: lines carry it into the other views. Click: chooses it · drag: moves the "
        "sheet · Shift+↑↓: level · + − 0: scale.");
}

void UnfoldedCanvas::describe() {
    setAccessibleDescription(featureWords(hovered_ ? hovered_->feature : chosen_.feature));
    QAccessibleEvent event(this, QAccessible::DescriptionChanged);
    QAccessible::updateAccessibility(&event);
    Q_EMIT pointerMoved();
}

std::vector<unfold::Projector> UnfoldedCanvas::shownProjectors() const {
    const SheetHit of = hovered_ ? *hovered_ : chosen_;
    const auto* f = scene_ ? scene_->feature(of.feature) : nullptr;
    if (!f) return {};
    return unfold::projectors(scene_->arrangement(), unfold::tracesOf(scene_->solution(), *f, scene_->turn()),
                              of.view);
}

void UnfoldedCanvas::choose(const SheetHit& hit) {
    const auto* f = scene_ ? scene_->feature(hit.feature) : nullptr;
    if (!f) return;
    handView_ = hit.view;
    Q_EMIT featureClicked(f->feature, f->level);
}

void UnfoldedCanvas::step(const Vec2& direction) {
    if (!scene_) return;
    const SheetLine* line = scene_->line(chosen_.feature, chosen_.view);
    const auto& frame = scene_->arrangement().frame(View::Top);
    const Vec2 from = line ? line->anchor : Vec2(0.5 * (frame.low + frame.high));
    const auto next = scene_->next(from, direction, look_.level, chosen_);
    if (!next) return;
    setHovered(std::nullopt);
    choose(*next);
    const SheetLine* now = scene_->line(chosen_.feature, chosen_.view);
    if (now && !rect().adjusted(30, 30, -30, -30).contains(view_.toScreen(now->anchor).toPoint())) {
        view_.offset += rect().toRectF().center() - view_.toScreen(now->anchor);
        moved();
    }
}

void UnfoldedCanvas::wheelEvent(QWheelEvent* event) {
    const double notches = event->angleDelta().y() / 120.0;
    if (!scene_ || notches == 0.0) return event->ignore();
    const Vec2 fixed = view_.toSheet(event->position());
    view_.scale = std::clamp(view_.scale * std::pow(kStep, notches), 0.02, 200.0);
    view_.offset = event->position() - QPointF(fixed.x(), -fixed.y()) * view_.scale;
    moved();
}

void UnfoldedCanvas::mousePressEvent(QMouseEvent* event) {
    lastPointer_ = pressedAt_ = event->position();
    panning_ = false;
}

void UnfoldedCanvas::mouseMoveEvent(QMouseEvent* event) {
    if (event->buttons() & (Qt::LeftButton | Qt::MiddleButton)) {
        const QPointF way = event->position() - pressedAt_;
        panning_ |= std::hypot(way.x(), way.y()) > kStill;
        if (panning_ && scene_) {
            setCursor(Qt::ClosedHandCursor);
            view_.offset += event->position() - lastPointer_;
            moved();
        }
        if (panning_ || scene_ == nullptr) lastPointer_ = event->position();
    } else {
        hover(event->position());
        lastPointer_ = event->position();
    }
}

void UnfoldedCanvas::mouseReleaseEvent(QMouseEvent* event) {
    if (panning_) {
        panning_ = false;
        setCursor(hovered_ ? Qt::PointingHandCursor : Qt::ArrowCursor);
        return;
    }
    if (event->button() != Qt::LeftButton || !scene_) return;
    hover(event->position());
    if (hovered_)
        choose(*hovered_);
    else
        Q_EMIT featureClicked({}, {});
}

void UnfoldedCanvas::mouseDoubleClickEvent(QMouseEvent* event) {
    if (!scene_ || event->button() != Qt::LeftButton) return;
    hover(event->position());
    const auto view = scene_->arrangement().viewAt(view_.toSheet(event->position()));
    if (hovered_ && scene_->feature(hovered_->feature))
        Q_EMIT openAsked(scene_->feature(hovered_->feature)->feature, hovered_->view);
    else if (view)
        Q_EMIT openAsked({}, *view);
}

void UnfoldedCanvas::keyPressEvent(QKeyEvent* event) {
    const bool shift = event->modifiers() & Qt::ShiftModifier;
    switch (event->key()) {
        case Qt::Key_Plus:
        case Qt::Key_Equal:
            return zoom(kStep);
        case Qt::Key_Minus:
            return zoom(1 / kStep);
        case Qt::Key_0:
            return fitView();
        case Qt::Key_Left:
            return step(-Vec2::UnitX());
        case Qt::Key_Right:
            return step(Vec2::UnitX());
        case Qt::Key_Up:
            if (shift) return void(Q_EMIT levelStepAsked(1));
            return step(Vec2::UnitY());
        case Qt::Key_Down:
            if (shift) return void(Q_EMIT levelStepAsked(-1));
            return step(-Vec2::UnitY());
        case Qt::Key_Return:
        case Qt::Key_Enter:
            if (const auto* f = scene_ ? scene_->feature(chosen_.feature) : nullptr; f && !shift)
                Q_EMIT openAsked(f->feature, chosen_.view);
            return;
        case Qt::Key_Escape:
            setHovered(std::nullopt);
            return void(Q_EMIT featureClicked({}, {}));
        default:
            QWidget::keyPressEvent(event);
    }
}

void UnfoldedCanvas::leaveEvent(QEvent*) {
    pointerWords_.clear();
    setHovered(std::nullopt);
    Q_EMIT pointerMoved();
}

void UnfoldedCanvas::showEvent(QShowEvent*) { settle_.start(); }

void UnfoldedCanvas::changeEvent(QEvent* event) {
    if (event->type() == QEvent::PaletteChange) stale();
    QWidget::changeEvent(event);
}

}  // namespace trammel::ui
