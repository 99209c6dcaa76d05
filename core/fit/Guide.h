// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <vector>

#include "core/fit/Conic.h"
#include "core/math/Types.h"

namespace trammel::fit {

/// Where a pixel lies relative to a guide: s along it (px from its start), d across it.
struct Local {
    double s = 0.0, d = 0.0;
};

/// A curve in the photograph near which an edge is looked for; the fit then finds the edge's small offset
/// from it. Straight strokes have d positive to the right of travel as seen on screen (y down), rims
/// outwards.
class Guide {
  public:
    virtual ~Guide() = default;
    virtual double length() const = 0;
    virtual bool closed() const = 0;
    virtual Vec2 point(double s, double d = 0.0) const = 0;  ///< point(s) + d·normal(s)
    virtual Vec2 normal(double s) const = 0;
    virtual double curvature(double s) const = 0;  ///< 1/px, positive when it bends away from +d (a rim)
    virtual Local locate(const Vec2& p) const = 0;
    /// True where `p` surely lies at no distance in [low, high] (low ≤ 0 ≤ high); cheaper than to locate it.
    virtual bool misses(const Vec2&, double, double) const { return false; }
};

/// A straight stroke, with a sag (parabola through both ends) for edges that the lens bends a little.
class LineGuide : public Guide {
  public:
    LineGuide(const Vec2& from, const Vec2& to, double sag = 0.0);
    double length() const override { return length_; }
    bool closed() const override { return false; }
    Vec2 point(double s, double d = 0.0) const override;
    Vec2 normal(double s) const override;
    double curvature(double) const override { return 8.0 * sag_ / (length_ * length_); }
    Local locate(const Vec2& p) const override;
    double sag() const { return sag_; }

  private:
    double bow(double s) const { return 4.0 * sag_ * s * (length_ - s) / (length_ * length_); }
    double bowSlope(double s) const { return 4.0 * sag_ * (length_ - 2.0 * s) / (length_ * length_); }
    Vec2 from_, along_, across_;
    double length_, sag_;
};

/// A whole ellipse, or the part of it from argument t0 over `sweep` (rad, either sign).
class EllipseGuide : public Guide {
  public:
    EllipseGuide(const Ellipse& ellipse, double t0, double sweep, bool closed);
    double length() const override { return arc_.back(); }
    bool closed() const override { return closed_; }
    Vec2 point(double s, double d = 0.0) const override;
    Vec2 normal(double s) const override { return distance_.normalAt(argument(s)); }
    double curvature(double s) const override { return distance_.curvatureAt(argument(s)); }
    Local locate(const Vec2& p) const override;
    bool misses(const Vec2& p, double low, double high) const override {
        return distance_.misses(p, low, high);
    }
    const Ellipse& ellipse() const { return ellipse_; }
    double sweep() const { return sweep_; }

  private:
    double argument(double s) const;
    Ellipse ellipse_;
    EllipseDistance distance_;
    double t0_, sweep_;
    bool closed_;
    std::vector<double> arc_;  ///< arc length at equal steps of the argument
};

}  // namespace trammel::fit
