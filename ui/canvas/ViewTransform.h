// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QPointF>
#include <QRectF>
#include <QSizeF>
#include <memory>

#include "core/camera/Correction.h"

namespace trammel::ui {

/// Where a photograph lies on the screen: screen = scale · place + offset. Photograph coordinates are px of
/// the upright picture with (0,0) at the centre of the first pixel, as the survey has them. The place is the
/// photograph coordinate itself, or where a corrected view shows it: whatever goes through toScreen and
/// toPhoto stays true in original pixels.
class ViewTransform {
  public:
    static constexpr double kLargest = 40.0;  ///< screen px per photograph px

    double scale() const { return scale_; }
    QPointF toScreen(const QPointF& photo) const { return placeOf(photo) * scale_ + offset_; }
    QPointF toPhoto(const QPointF& screen) const;

    /// Corrected view from now on, or the photograph as it is (null). What is in the middle of the window may
    /// move by as much as the lens had moved it.
    void setCorrection(std::shared_ptr<const camera::Correction> correction) {
        correction_ = std::move(correction);
    }
    const std::shared_ptr<const camera::Correction>& correction() const { return correction_; }
    /// The rectangle that the shown picture covers, as places, outer edges of its pixels.
    QRectF covered(const QSizeF& photo) const;
    /// Screen point of a place.
    QPointF placeToScreen(const QPointF& place) const { return place * scale_ + offset_; }

    /// Changes the scale so that the photograph point under `screen` stays under it.
    void zoomAbout(const QPointF& screen, double factor);
    void pan(const QPointF& byScreen) { offset_ += byScreen; }

    /// Whole photograph centred in the window.
    void fit(const QSizeF& photo, const QSizeF& window);
    /// This photograph point in the middle of the window, at least at `scale`.
    void centreOn(const QPointF& photo, const QSizeF& window, double scale);

    /// Keeps part of the photograph in sight and the scale within bounds.
    void keepInSight(const QSizeF& photo, const QSizeF& window);

  private:
    QPointF placeOf(const QPointF& photo) const;

    std::shared_ptr<const camera::Correction> correction_;
    double scale_ = 1.0;
    QPointF offset_;
};

}  // namespace trammel::ui
