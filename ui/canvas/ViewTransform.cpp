// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/ViewTransform.h"

#include <algorithm>

namespace trammel::ui {
namespace {

double fittingScale(const QSizeF& photo, const QSizeF& window) {
    if (photo.isEmpty() || window.isEmpty()) return 1.0;
    return std::min(window.width() / photo.width(), window.height() / photo.height()) * 0.98;
}

}  // namespace

QPointF ViewTransform::placeOf(const QPointF& photo) const {
    if (!correction_) return photo;
    const auto p = correction_->toCorrected(Vec2(photo.x(), photo.y()));
    return p ? QPointF(p->x(), p->y()) : photo;  // only far outside the picture
}

QPointF ViewTransform::toPhoto(const QPointF& screen) const {
    const QPointF place = (screen - offset_) / scale_;
    if (!correction_) return place;
    const Vec2 p = correction_->toOriginal(Vec2(place.x(), place.y()));
    return {p.x(), p.y()};
}

QRectF ViewTransform::covered(const QSizeF& photo) const {
    // The picture reaches half a pixel beyond its first and last pixel centres.
    if (!correction_) return {QPointF(-0.5, -0.5), photo};
    const auto& f = correction_->frame();
    return {f.x - 0.5, f.y - 0.5, static_cast<double>(f.width), static_cast<double>(f.height)};
}

void ViewTransform::zoomAbout(const QPointF& screen, double factor) {
    const QPointF fixed = (screen - offset_) / scale_;
    scale_ = std::clamp(scale_ * factor, 1e-3, kLargest);
    offset_ = screen - fixed * scale_;
}

void ViewTransform::fit(const QSizeF& photo, const QSizeF& window) {
    const QRectF all = covered(photo);
    scale_ = fittingScale(all.size(), window);
    offset_ = QPointF(window.width(), window.height()) / 2 - all.center() * scale_;
}

void ViewTransform::centreOn(const QPointF& photo, const QSizeF& window, double scale) {
    scale_ = std::min(std::max(scale_, scale), kLargest);
    offset_ = QPointF(window.width(), window.height()) / 2 - placeOf(photo) * scale_;
}

void ViewTransform::keepInSight(const QSizeF& photo, const QSizeF& window) {
    if (photo.isEmpty() || window.isEmpty()) return;
    const QRectF all = covered(photo);
    const double smallest = fittingScale(all.size(), window) * 0.5;
    if (scale_ < smallest) zoomAbout(QPointF(window.width(), window.height()) / 2, smallest / scale_);
    constexpr double kKeep = 60.0;  // screen px of the photograph that always stay visible
    const QSizeF size = all.size() * scale_;
    const QPointF corner = placeToScreen(all.topLeft());
    const QPointF kept(std::clamp(corner.x(), std::min(kKeep - size.width(), 0.0), window.width() - kKeep),
                       std::clamp(corner.y(), std::min(kKeep - size.height(), 0.0), window.height() - kKeep));
    offset_ += kept - corner;
}

}  // namespace trammel::ui
