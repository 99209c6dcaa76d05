// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/estimate/Planned.h"

#include <algorithm>
#include <cmath>

namespace trammel::estimate {

double dot(const Gradient& f, const VecX& v) {
    double sum = 0.0;
    for (const auto& [column, value] : f)
        if (column >= 0) sum += value * v[column];
    return sum;
}

VecX Planned::times(const Gradient& f) const {
    VecX out = factor_->times(f);
    for (const VecX& u : taken_) out -= u * dot(f, u);
    return out;
}

double Planned::variance(const Gradient& f) const {
    double v = factor_->variance(f);
    for (const VecX& u : taken_) v -= std::pow(dot(f, u), 2);
    return std::max(v, 0.0);
}

void Planned::observe(const Gradient& f, double sigma) {
    VecX u = times(f);
    const double variance = std::max(dot(f, u), 0.0);
    u /= std::sqrt(sigma * sigma + variance);
    taken_.push_back(std::move(u));
}

}  // namespace trammel::estimate
