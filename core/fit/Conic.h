// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/math/Types.h"

namespace trammel::fit {

/// Ellipse as the image of the unit circle: x(u) = centre + shape·u, shape symmetric and positive definite.
/// This form has no singularity at a circle (an angle of the axes would be undefined there).
struct Ellipse {
    Vec2 centre = Vec2::Zero();     ///< px
    Mat2 shape = Mat2::Identity();  ///< px; eigenvalues are the semi-axes

    static Ellipse circle(const Vec2& centre, double radius) { return {centre, radius * Mat2::Identity()}; }
};

/// Semi-axes (a ≥ b, px) and the direction of the longer one (rad, in (−π/2, π/2]).
struct Axes {
    double a = 0.0, b = 0.0, angle = 0.0;
};
Axes axesOf(const Ellipse& ellipse);

/// Nearest point of the ellipse: its unit-circle argument t (x = centre + V·(a cos t, b sin t) with the axes
/// V of axesOf), the signed distance of `p` (positive outside) and the outward unit normal there.
struct Foot {
    Vec2 point = Vec2::Zero(), normal = Vec2::UnitX();
    double t = 0.0, distance = 0.0;
};

/// Foot points on one ellipse, its axes computed once.
class EllipseDistance {
  public:
    explicit EllipseDistance(const Ellipse& ellipse);
    Foot foot(const Vec2& p) const;
    /// True where the distance of `p` is surely below low ≤ 0 or above high ≥ 0: two ellipses of one centre
    /// and form lie b·|difference in scale| apart where they are nearest.
    bool misses(const Vec2& p, double low, double high) const;
    Vec2 pointAt(double t) const;
    Vec2 normalAt(double t) const;
    double speedAt(double t) const;      ///< |dx/dt|, px per rad
    double curvatureAt(double t) const;  ///< 1/px
    const Axes& axes() const { return axes_; }

  private:
    Vec2 centre_;
    Axes axes_;
    Mat2 v_;  ///< columns: directions of a and b
};

/// Circle through points by Pratt's algebraic fit (1987) followed by Gauss–Newton on orthogonal distances.
/// nullopt for fewer than three points or points on a line.
std::optional<Ellipse> fitCircle(const std::vector<Vec2>& points, const std::vector<double>& weights = {});

/// Ellipse by orthogonal distances (Gander, Golub & Strebel 1994), Levenberg–Marquardt from `start`.
/// `weights` are 1/σ² (empty: all 1). `roundness` > 0 adds the belief that the two semi-axes are equal with
/// this standard deviation relative to the size (σ of the points 1 px then), which keeps few points sane.
std::optional<Ellipse> fitEllipse(const std::vector<Vec2>& points, const Ellipse& start,
                                  const std::vector<double>& weights = {}, double roundness = 0.0);

}  // namespace trammel::fit
