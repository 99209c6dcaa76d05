// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Guide.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace trammel::fit {

LineGuide::LineGuide(const Vec2& from, const Vec2& to, double sag)
    : from_(from),
      along_((to - from).normalized()),
      across_(-along_.y(), along_.x()),
      length_((to - from).norm()),
      sag_(sag) {}

Vec2 LineGuide::point(double s, double d) const {
    return from_ + along_ * s + across_ * bow(s) + normal(s) * d;
}

Vec2 LineGuide::normal(double s) const { return (across_ - bowSlope(s) * along_).normalized(); }

Local LineGuide::locate(const Vec2& p) const {
    const Vec2 q = p - from_;
    double s = along_.dot(q);
    const double offset = across_.dot(q);
    if (sag_ == 0.0) return {s, offset};
    const double slope = bowSlope(s), d = (offset - bow(s)) / std::sqrt(1.0 + slope * slope);
    return {s + d * slope, d};
}

EllipseGuide::EllipseGuide(const Ellipse& ellipse, double t0, double sweep, bool closed)
    : ellipse_(ellipse), distance_(ellipse), t0_(t0), sweep_(sweep), closed_(closed) {
    constexpr int kPieces = 256;
    arc_.resize(kPieces + 1);
    const double h = sweep_ / kPieces;
    for (int i = 0; i < kPieces; ++i)  // Simpson's rule
        arc_[i + 1] =
            arc_[i] + std::abs(h) / 6.0 *
                          (distance_.speedAt(t0_ + i * h) + 4.0 * distance_.speedAt(t0_ + (i + 0.5) * h) +
                           distance_.speedAt(t0_ + (i + 1) * h));
}

double EllipseGuide::argument(double s) const {
    if (closed_) s -= std::floor(s / length()) * length();
    const auto up = std::upper_bound(arc_.begin() + 1, arc_.end() - 1, s);
    const std::size_t i = static_cast<std::size_t>(up - arc_.begin()) - 1;
    const double part = (s - arc_[i]) / (arc_[i + 1] - arc_[i]);
    return t0_ + sweep_ * (static_cast<double>(i) + part) / static_cast<double>(arc_.size() - 1);
}

Vec2 EllipseGuide::point(double s, double d) const {
    const double t = argument(s);
    return distance_.pointAt(t) + distance_.normalAt(t) * d;
}

Local EllipseGuide::locate(const Vec2& p) const {
    constexpr double kTurn = 2.0 * std::numbers::pi;
    const Foot f = distance_.foot(p);
    double along = (f.t - t0_) * (sweep_ < 0 ? -1.0 : 1.0);
    const double span = std::abs(sweep_);
    along -= std::floor(along / kTurn) * kTurn;
    // Beyond an open arc's end the nearer end counts, as a negative or too large s.
    if (!closed_ && along > span + 0.5 * (kTurn - span)) along -= kTurn;
    const double pieces = static_cast<double>(arc_.size() - 1);
    const double at = std::clamp(along / span * pieces, -pieces, 2.0 * pieces);
    const double inner = std::clamp(at, 0.0, pieces);
    const std::size_t i = std::min(static_cast<std::size_t>(inner), arc_.size() - 2);
    const double step = arc_[i + 1] - arc_[i];
    return {arc_[i] + (at - static_cast<double>(i)) * step, f.distance};
}

}  // namespace trammel::fit
