// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/PhotoCanvas.h"

#include <QKeyEvent>
#include <QMouseEvent>
#include <QPainter>
#include <QWheelEvent>
#include <cmath>

#include "core/camera/CorrectPicture.h"

namespace trammel::ui {
namespace {

constexpr double kStep = 1.25;       // one press of + or one notch of the wheel
constexpr double kArrowStep = 60.0;  // screen px
constexpr int kSettle_ms = 120;

/// A plain letter out of these.
bool wanted(const QKeyEvent& event, const QString& keys) {
    return !(event.modifiers() & ~Qt::ShiftModifier) && event.key() >= Qt::Key_A &&
           event.key() <= Qt::Key_Z && keys.contains(QChar(static_cast<char16_t>(event.key())));
}

/// What can be drawn of the shown picture, in its own px.
QRect pictureRect(const ViewTransform& view, const Picture& picture) {
    if (!view.correction()) return picture.image.rect();
    const auto size = camera::correctedSize(*view.correction(), picture.shrink);
    return {0, 0, size.width, size.height};
}

}  // namespace

PhotoCanvas::PhotoCanvas(PhotoStore& store, QWidget* parent) : QWidget(parent), store_(store) {
    setMouseTracking(true);
    setFocusPolicy(Qt::StrongFocus);
    setAccessibleName(tr("Photograph"));
    settle_.setSingleShot(true);
    settle_.setInterval(kSettle_ms);
    connect(&settle_, &QTimer::timeout, this, qOverload<>(&QWidget::update));
    connect(&store_, &PhotoStore::arrived, this, [this](const QString& path) {
        if (path == path_) update();
    });
}

void PhotoCanvas::showPhotograph(const QString& path, const QSize& size) {
    words_.clear();
    if (path == path_ && size == photoSize_) return update();
    if (!path_.isEmpty()) remembered_[path_] = view_;
    path_ = path;
    photoSize_ = size;
    const auto it = remembered_.constFind(path);
    if (it != remembered_.constEnd())
        view_ = *it;
    else
        fitPending_ = true;
    if (fitPending_) fitView();
    update();
}

void PhotoCanvas::showWords(const QString& words) {
    if (!path_.isEmpty()) remembered_[path_] = view_;
    path_.clear();
    words_ = words;
    scene_ = {};
    update();
}

void PhotoCanvas::setScene(MarkScene scene) {
    scene_ = std::move(scene);
    update();
}

void PhotoCanvas::setStyle(const MarkStyle& style) {
    style_ = style;
    update();
}

void PhotoCanvas::setCorrection(std::shared_ptr<const camera::Correction> correction) {
    const auto& now = view_.correction();
    if (correction == now || (correction && now && *correction == *now)) return;
    const QPointF middle = view_.toPhoto(rect().toRectF().center());
    view_.setCorrection(std::move(correction));
    corrected_ = {};
    if (fitPending_) return fitView();
    view_.centreOn(middle, size(), view_.scale());
    moved();
}

void PhotoCanvas::fitView() {
    view_.fit(photoSize_, size());
    fitPending_ = true;  // stays fitted while the window takes its first sizes
    update();
}

void PhotoCanvas::zoom(double factor) {
    view_.zoomAbout(rect().toRectF().center(), factor);
    moved();
}

void PhotoCanvas::zoomToPixels() { zoom(1.0 / (view_.scale() * devicePixelRatioF())); }

void PhotoCanvas::lookAt(const QPointF& photo) {
    view_.centreOn(photo, size(), 1.0);
    moved();
}

void PhotoCanvas::bringIntoSight(const QPointF& photo, double leastScale) {
    constexpr double kBorder = 60.0;  // screen px
    const bool visible =
        rect().toRectF().adjusted(kBorder, kBorder, -kBorder, -kBorder).contains(view_.toScreen(photo));
    if (visible && view_.scale() >= leastScale) return;
    view_.centreOn(photo, size(), leastScale);
    moved();
}

void PhotoCanvas::moved() {
    fitPending_ = false;
    view_.keepInSight(photoSize_, size());
    settle_.start();
    update();
}

void PhotoCanvas::resizeEvent(QResizeEvent*) {
    if (fitPending_) view_.fit(photoSize_, size());
    view_.keepInSight(photoSize_, size());
}

void PhotoCanvas::paintEvent(QPaintEvent*) {
    QPainter painter(this);
    // A neutral grey in both colour schemes: a photograph is judged against it.
    painter.fillRect(rect(), QColor(52, 54, 56));
    if (!words_.isEmpty() || path_.isEmpty()) return drawWords(painter, words_);
    const QString problem = store_.problem(path_);
    if (!problem.isEmpty()) return drawWords(painter, problem);
    drawPicture(painter);
    paintMarks(painter, scene_, view_, style_);
    if (extra_) extra_(painter, view_);
    drawLegend(painter);
    if (hasFocus()) {
        painter.setBrush(Qt::NoBrush);
        painter.setRenderHint(QPainter::Antialiasing, false);
        painter.setPen(QPen(palette().highlight().color(), 2));
        painter.drawRect(rect().adjusted(1, 1, -1, -1));
    }
}

void PhotoCanvas::drawPicture(QPainter& painter) {
    const double ratio = devicePixelRatioF();
    const Picture picture = store_.at(path_, view_.scale() * ratio);
    if (picture.image.isNull()) return drawWords(painter, tr("Reading the photograph…"));
    const double perPixel = picture.shrink * view_.scale();  // screen px of one pixel of the picture
    const QPointF corner = view_.placeToScreen(view_.covered(photoSize_).topLeft());
    const auto first = [&](double from) { return static_cast<int>(std::floor(from / perPixel)); };
    const QRect visible = QRect(QPoint(first(-corner.x()), first(-corner.y())),
                                QPoint(first(width() - corner.x()) + 1, first(height() - corner.y()) + 1)) &
                          pictureRect(view_, picture);
    if (visible.isEmpty()) return;
    const QRectF target(corner + QPointF(visible.topLeft()) * perPixel, QSizeF(visible.size()) * perPixel);
    // Whole pixels are shown as such from eightfold on; in motion speed comes first.
    const bool smooth = !settle_.isActive() && perPixel * ratio < 8.0;
    painter.setRenderHint(QPainter::SmoothPixmapTransform, smooth);
    if (!view_.correction()) return painter.drawImage(target, picture.image, QRectF(visible));
    const QImage& image = correctedPart(picture, visible);
    painter.drawImage(target, image, QRectF(visible.translated(-corrected_.part.topLeft())));
}

const QImage& PhotoCanvas::correctedPart(const Picture& picture, const QRect& visible) {
    const qint64 source = picture.image.cacheKey();
    if (corrected_.correction == view_.correction() && corrected_.source == source &&
        corrected_.part.contains(visible))
        return corrected_.image;
    const int spareX = visible.width() / 4, spareY = visible.height() / 4;  // panning meets it at hand
    const QRect part = visible.adjusted(-spareX, -spareY, spareX, spareY) & pictureRect(view_, picture);
    const QImage from = picture.image.convertToFormat(QImage::Format_RGB32);
    QImage to(part.size(), QImage::Format_RGB32);
    if (to.isNull()) return corrected_.image = {};
    camera::correctPicture(*view_.correction(),
                           {from.constBits(), from.width(), from.height(), 4, from.bytesPerLine()},
                           picture.shrink, {to.bits(), to.width(), to.height(), 4, to.bytesPerLine()},
                           part.x(), part.y(), {56, 54, 52, 255});  // the grey around it, blue first
    corrected_ = {to, part, source, view_.correction()};
    return corrected_.image;
}

void PhotoCanvas::drawWords(QPainter& painter, const QString& words) {
    painter.setPen(QColor(225, 225, 225));
    const QRect box = rect().adjusted(40, 20, -40, -20);
    painter.drawText(box, Qt::AlignCenter | Qt::TextWordWrap, words);
}

void PhotoCanvas::drawLegend(QPainter& painter) {
    QString text = tr("zoom %1 %").arg(view_.scale() * devicePixelRatioF() * 100.0, 0, 'f', 0);
    if (view_.correction()) text += tr(" · corrected view: for the eye, marks stay on original pixels");
    bool adjusted = false;
    for (const auto& item : scene_.items()) adjusted |= !item.adjusted.empty() && !item.points.empty();
    if (adjusted && style_.showResiduals && !style_.quiet)
        text += tr(" · yellow lines: residuals, 1 px drawn as %1").arg(style_.residualScale, 0, 'f', 0);
    constexpr int kFlags = Qt::AlignLeft | Qt::TextWordWrap;  // a narrow photograph has it in more lines
    QRectF box =
        painter.fontMetrics().boundingRect(QRect(0, 0, std::max(1, width() - 30), height()), kFlags, text);
    box.moveBottomLeft(QPointF(10, height() - 8));
    box.adjust(-5, -2, 5, 2);
    painter.setPen(Qt::NoPen);
    painter.setBrush(QColor(0, 0, 0, 170));
    painter.drawRoundedRect(box, 3, 3);
    painter.setPen(QColor(235, 235, 235));
    painter.drawText(box.adjusted(5, 2, -5, -2), kFlags, text);
}

void PhotoCanvas::wheelEvent(QWheelEvent* event) {
    const double notches = event->angleDelta().y() / 120.0;
    if (path_.isEmpty() || notches == 0.0) return event->ignore();
    view_.zoomAbout(event->position(), std::pow(kStep, notches));
    moved();
}

void PhotoCanvas::mousePressEvent(QMouseEvent* event) {
    lastPointer_ = event->position();
    if (path_.isEmpty()) return;
    if (event->button() == Qt::MiddleButton || (event->button() == Qt::LeftButton && spaceHeld_)) {
        panning_ = true;
        setCursor(Qt::ClosedHandCursor);
    } else if (event->button() == Qt::LeftButton) {
        Q_EMIT pressed(view_.toPhoto(event->position()));
    } else if (event->button() == Qt::RightButton) {
        Q_EMIT finishAsked();
    }
}

void PhotoCanvas::mouseMoveEvent(QMouseEvent* event) {
    if (panning_) {
        view_.pan(event->position() - lastPointer_);
        moved();
    } else if (!path_.isEmpty()) {
        const QPointF photo = view_.toPhoto(event->position());
        if (event->buttons() & Qt::LeftButton) Q_EMIT dragged(photo);
        Q_EMIT hovered(photo);
    }
    lastPointer_ = event->position();
}

void PhotoCanvas::mouseReleaseEvent(QMouseEvent* event) {
    if (panning_)
        endPan();
    else if (event->button() == Qt::LeftButton && !path_.isEmpty())
        Q_EMIT released(view_.toPhoto(event->position()));
}

void PhotoCanvas::endPan() {
    panning_ = false;
    setCursor(spaceHeld_ ? Qt::OpenHandCursor : Qt::CrossCursor);
}

void PhotoCanvas::mouseDoubleClickEvent(QMouseEvent* event) {
    if (event->button() == Qt::LeftButton) Q_EMIT finishAsked();
}

bool PhotoCanvas::event(QEvent* event) {
    if (event->type() == QEvent::ShortcutOverride && wanted(*static_cast<QKeyEvent*>(event), keys_)) {
        event->accept();
        return true;
    }
    return QWidget::event(event);
}

void PhotoCanvas::keyPressEvent(QKeyEvent* event) {
    if (wanted(*event, keys_)) {
        Q_EMIT keyAsked(QChar(static_cast<char16_t>(event->key())));
        return;
    }
    const bool far = event->modifiers() & Qt::ShiftModifier;
    const double step = far ? 4 * kArrowStep : kArrowStep;
    switch (event->key()) {
        case Qt::Key_Plus:
        case Qt::Key_Equal:
            return zoom(kStep);
        case Qt::Key_Minus:
            return zoom(1 / kStep);
        case Qt::Key_0:
            return fitView();
        case Qt::Key_1:
            return zoomToPixels();
        case Qt::Key_Left:
            view_.pan({step, 0});
            return moved();
        case Qt::Key_Right:
            view_.pan({-step, 0});
            return moved();
        case Qt::Key_Up:
            view_.pan({0, step});
            return moved();
        case Qt::Key_Down:
            view_.pan({0, -step});
            return moved();
        case Qt::Key_Return:
        case Qt::Key_Enter:
            if (!far) Q_EMIT finishAsked();  // with shift it is a command of the window
            return;
        case Qt::Key_Backspace:
            Q_EMIT backAsked();
            return;
        case Qt::Key_Escape:
            Q_EMIT cancelAsked();
            return;
        case Qt::Key_Delete:
            Q_EMIT deleteAsked();
            return;
        case Qt::Key_Space:
            if (!event->isAutoRepeat()) {
                spaceHeld_ = true;
                setCursor(Qt::OpenHandCursor);
            }
            return;
        default:
            QWidget::keyPressEvent(event);
    }
}

void PhotoCanvas::keyReleaseEvent(QKeyEvent* event) {
    if (event->key() == Qt::Key_Space && !event->isAutoRepeat()) {
        spaceHeld_ = false;
        if (!panning_) setCursor(Qt::CrossCursor);
    }
    QWidget::keyReleaseEvent(event);
}

void PhotoCanvas::focusOutEvent(QFocusEvent* event) {
    spaceHeld_ = false;  // its release will go elsewhere
    if (!panning_) setCursor(Qt::CrossCursor);
    QWidget::focusOutEvent(event);
}

void PhotoCanvas::leaveEvent(QEvent*) { Q_EMIT left(); }

}  // namespace trammel::ui
