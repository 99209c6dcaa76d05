// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <memory>

#include "core/adjust/Quantity.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// What a Solution needs to give the ± of any quantity: the adjusted state and the covariance of its
/// unknowns.
class Covariance {
  public:
    Covariance(survey::Survey survey, State state, Columns columns, estimate::CovarianceFactor factor,
               double inflation)
        : survey_(std::move(survey)),
          state_(std::move(state)),
          columns_(std::move(columns)),
          factor_(std::move(factor)),
          inflation_(inflation) {}

    const survey::Survey& survey() const { return survey_; }
    const State& state() const { return state_; }
    const Columns& columns() const { return columns_; }
    const estimate::CovarianceFactor& factor() const { return factor_; }

    /// By how much every ± is widened: 1 unless the global test failed high.
    double inflation() const { return inflation_; }
    /// Standard uncertainty (k = 1) of a function of the unknowns, widened when the global test failed high.
    double sigma(const estimate::Gradient& gradient) const;

  private:
    survey::Survey survey_;
    State state_;
    Columns columns_;
    estimate::CovarianceFactor factor_;
    double inflation_;
};

}  // namespace trammel::adjust
