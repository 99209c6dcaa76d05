// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "core/adjust/Solution.h"
#include "core/unfold/Arrangement.h"

namespace trammel::unfold {

using survey::Id;

/// One adjusted feature as it lies in the part's frame (mm).
struct Placed {
    Id feature, level;  ///< level is empty for a feature free in space
    survey::FeatureKind kind = survey::FeatureKind::Corner;
    std::string label;          ///< its name, or its id
    Vec3 point = Vec3::Zero();  ///< corner; centre of hole, arc, slot; middle of an edge's or curve's marks
    Vec3 direction = Vec3::Zero();  ///< of an edge, unit; else zero
    double radius = 0.0;            ///< hole, arc; half the width of a slot
    std::vector<Vec3> line;         ///< along it, one point of a corner
    bool closed = false;            ///< its end runs into its beginning
    /// By View (front, top ...): a photograph from within 45° of that view shows it. What stands before it
    /// is not known.
    std::array<bool, 6> seen{};
    /// Σ of `point` (mm², k = 1), widened when the global test failed high; of an edge only across it.
    /// Nothing where the adjustment was asked for no covariance.
    std::optional<Mat3> covariance;
    bool beside = false;  ///< lies beside the part: on a rule or card

    bool seenIn(View view) const { return view != View::Oblique && seen[static_cast<std::size_t>(view)]; }
    /// ± (k = 2) of the point along the direction known least; 0 without a covariance.
    double plusMinus() const;
};

/// Every feature that the solution holds and the survey still does, in the survey's order.
std::vector<Placed> placed(const survey::Survey& survey, const adjust::Solution& solution);

/// From the part's +x to the right of the front view, rad about z: the adjusted views' common azimuth, or 0
/// where that is under 2°. The sheet then follows the datum's axes and reads as the ledger does.
double turnOf(const adjust::Solution& solution);

/// What the part's features reach over in the axes of the views; those beside it do not count. A box of
/// nothing stands at the origin.
Box boxOf(const std::vector<Placed>& features, double turn);

}  // namespace trammel::unfold
