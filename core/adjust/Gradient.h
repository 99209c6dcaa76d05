// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/Shape.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// A scalar function of the state with its derivative by the unknowns.
struct QuantityValue {
    double value = 0.0;
    estimate::Gradient gradient;
};

/// Puts a scalar's derivative together from how it changes with points of features.
class GradientBuilder {
  public:
    GradientBuilder(const State& state, const Columns& columns) : state_(state), columns_(columns) {}

    QuantityValue out;

    /// Each column once: a row has room for so many.
    void add(int column, double derivative) {
        if (column < 0) return;
        for (auto& [known, sum] : out.gradient)
            if (known == column) {
                sum += derivative;
                return;
            }
        out.gradient.emplace_back(column, derivative);
    }
    /// The function changes by d per mm that the feature's point (corner, centre, middle) moves.
    void addPoint(int feature, const Vec3& d) { take(pointDerivatives(state_, columns_, feature), d); }
    /// The function changes by d per mm that the point at τ of the feature moves.
    void addAt(int feature, double tau, const Vec3& d) {
        const Vec3 X = curveAt(state_, this->feature(feature), tau).X;
        take(derivativesAt(state_, columns_, feature, tau, X), d);
    }
    /// By the radius (half the width of a slot), which is taken as positive.
    void addRadius(int feature, double d) {
        const FeatureState& f = this->feature(feature);
        add(columns_.features[static_cast<std::size_t>(feature)][f.kind == survey::FeatureKind::Slot ? 4 : 2],
            f.r < 0 ? -d : d);
    }
    void addLevel(int level, double d) { add(columns_.levels[static_cast<std::size_t>(level)], d); }

    const FeatureState& feature(int i) const { return state_.features[static_cast<std::size_t>(i)]; }
    const State& state() const { return state_; }
    const Columns& columns() const { return columns_; }

  private:
    void take(const PointDerivatives& p, const Vec3& d) {
        for (std::size_t k = 0; k < static_cast<std::size_t>(p.count); ++k)
            add(p.column[k], p.byColumn[k].dot(d));
    }

    const State& state_;
    const Columns& columns_;
};

}  // namespace trammel::adjust
