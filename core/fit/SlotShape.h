// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <optional>
#include <vector>

#include "core/fit/Course.h"
#include "core/math/Types.h"

namespace trammel::fit {

/// A slot as a camera sees it: the slot with ends of radius 1 about (±half, 0), through
/// x(q) = centre + shape·q / (1 + lean·q). Every plane view of a slot has this form (a homography less the
/// shift that `centre` takes up).
struct SlotShape {
    Vec2 centre = Vec2::Zero();
    Mat2 shape = Mat2::Identity();  ///< px
    double half = 1.0;              ///< half the distance of the ends' centres, in radii
    Vec2 lean = Vec2::Zero();       ///< perspective across the slot's size, per radius

    static SlotShape plain(const Vec2& a, const Vec2& b, double radius);
    double round() const;             ///< length of the rim, in radii
    CourseSample at(double u) const;  ///< u in radii along the rim, from the beginning of the first side
    double speed(double u) const;     ///< |dx/du|, px
    double nearest(const Vec2& p) const;
    Vec2 outward(double u) const;
    double size() const;  ///< px, the smaller semi-axis of an end
};

/// What the fit may move and how far it believes the start.
struct SlotBelief {
    double roundness = 0.0;  ///< relative standard deviation of "both ends are circles"; 0: free
    double lean = 0.003;     ///< per radius; 0: held
    double halfSigma = 0.0;  ///< radii, about the start's value; 0: free
};

/// Least squares of the distances from points to the rim, by Gauss–Newton with step control. Nothing for
/// fewer than five points.
std::optional<SlotShape> fitSlotShape(const std::vector<Vec2>& points, const SlotShape& start,
                                      const SlotBelief& belief, const std::vector<double>& weights = {},
                                      bool robust = false);

/// Plain slot from a hand's few points in any order: the longer axis of their scatter, the width across it.
std::optional<SlotShape> guessSlot(const std::vector<Vec2>& points);

/// The rim as a closed guide, d positive outwards.
CourseGuide slotGuide(const SlotShape& shape);

/// How the rim's outward offset at u moves with centre, shape (four) and half, for unit steps of each in px
/// (shape: at the rim; half: in radii times the size).
std::array<double, 7> slotModes(const SlotShape& shape, double u);

}  // namespace trammel::fit
