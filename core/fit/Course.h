// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <unordered_map>
#include <vector>

#include "core/fit/Guide.h"

namespace trammel::fit {

/// A place on a smooth curve in the photograph.
struct CourseSample {
    Vec2 point = Vec2::Zero(), tangent = Vec2::UnitX();  ///< px, unit
    double curvature = 0.0;  ///< 1/px, positive when it turns to the right (y down)
};

/// Any smooth curve as a guide, known by samples about 1 px apart, cubic between them (Hermite). `side` +1: d
/// is positive to the right of travel as seen on screen, −1: to the left. A closed one runs on from its last
/// sample to its first.
class CourseGuide : public Guide {
  public:
    CourseGuide(std::vector<CourseSample> samples, bool closed, double side = 1.0);
    double length() const override { return length_; }
    bool closed() const override { return closed_; }
    Vec2 point(double s, double d = 0.0) const override;
    Vec2 normal(double s) const override;
    double curvature(double s) const override;
    Local locate(const Vec2& p) const override;
    Vec2 tangent(double s) const;
    /// The stretch from s0 to s1 > s0 as an open guide; of a closed one s1 may run past its end.
    CourseGuide part(double s0, double s1) const;

  private:
    /// Piece that holds s and the fraction in it; beyond an open end the fraction leaves [0, 1].
    std::pair<std::size_t, double> find(double s) const;
    std::size_t next(std::size_t i) const { return i + 1 < samples_.size() ? i + 1 : 0; }
    std::size_t nearestSample(const Vec2& p) const;

    std::vector<CourseSample> samples_;
    bool closed_;
    double side_;
    std::vector<double> start_;  ///< s of each sample
    double length_ = 0.0;
    std::unordered_map<long, std::vector<std::size_t>> cells_;  ///< samples by squares of the picture
};

/// A uniform cubic B-spline near points that are given in order (de Boor 1978), fitted by least squares with
/// a penalty on its nodes' third differences (Eilers & Marx 1996): straight lines and even bends go
/// unpunished, so that the ends of an open one are not pulled straight.
struct SplineOptions {
    bool closed = false;
    double nodeSpacing_px = 12.0;
    double stiffness = 0.1;  ///< weight of a third difference of 1 px against a point of weight 1
    bool robust = false;     ///< Cauchy weights on the distances (a glint, a crossing edge)
};

/// Its samples, at most 1 px apart; the parameter of a point is the chord length up to it. Nothing for fewer
/// than three distinct points.
std::optional<std::vector<CourseSample>> splineThrough(const std::vector<Vec2>& points,
                                                       const SplineOptions& options,
                                                       const std::vector<double>& weights = {});

}  // namespace trammel::fit
