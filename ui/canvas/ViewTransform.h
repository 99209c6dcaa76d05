// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QPointF>
#include <QRectF>
#include <QSizeF>

namespace trammel::ui {

/// Where a photograph lies on the screen: screen = scale · photo + offset. Photograph coordinates are px of
/// the upright picture with (0,0) at the centre of the first pixel, as the survey has them.
class ViewTransform {
  public:
    static constexpr double kLargest = 40.0;  ///< screen px per photograph px

    double scale() const { return scale_; }
    QPointF toScreen(const QPointF& photo) const { return photo * scale_ + offset_; }
    QPointF toPhoto(const QPointF& screen) const { return (screen - offset_) / scale_; }

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
    double scale_ = 1.0;
    QPointF offset_;
};

}  // namespace trammel::ui
