// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/canvas/ViewTransform.h"

#include <algorithm>

namespace trammel::ui {
namespace {

/// The picture reaches half a pixel beyond its first and last pixel centres.
constexpr QPointF kHalf(0.5, 0.5);

double fittingScale(const QSizeF& photo, const QSizeF& window) {
    if (photo.isEmpty() || window.isEmpty()) return 1.0;
    return std::min(window.width() / photo.width(), window.height() / photo.height()) * 0.98;
}

}  // namespace

void ViewTransform::zoomAbout(const QPointF& screen, double factor) {
    const QPointF fixed = toPhoto(screen);
    scale_ = std::clamp(scale_ * factor, 1e-3, kLargest);
    offset_ = screen - fixed * scale_;
}

void ViewTransform::fit(const QSizeF& photo, const QSizeF& window) {
    scale_ = fittingScale(photo, window);
    const QPointF middle = QPointF(photo.width(), photo.height()) / 2 - kHalf;
    offset_ = QPointF(window.width(), window.height()) / 2 - middle * scale_;
}

void ViewTransform::centreOn(const QPointF& photo, const QSizeF& window, double scale) {
    scale_ = std::min(std::max(scale_, scale), kLargest);
    offset_ = QPointF(window.width(), window.height()) / 2 - photo * scale_;
}

void ViewTransform::keepInSight(const QSizeF& photo, const QSizeF& window) {
    if (photo.isEmpty() || window.isEmpty()) return;
    const double smallest = fittingScale(photo, window) * 0.5;
    if (scale_ < smallest) zoomAbout(QPointF(window.width(), window.height()) / 2, smallest / scale_);
    constexpr double kKeep = 60.0;  // screen px of the photograph that always stay visible
    const double w = photo.width() * scale_, h = photo.height() * scale_;
    offset_.setX(std::clamp(offset_.x(), std::min(kKeep - w, 0.0), window.width() - kKeep));
    offset_.setY(std::clamp(offset_.y(), std::min(kKeep - h, 0.0), window.height() - kKeep));
}

}  // namespace trammel::ui
