// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>
#include <vector>

/// JCGM 101:2008 (Supplement 1 to the GUM): whether the ± of a linear propagation agrees with the spread of
/// draws.
namespace trammel::test {

/// Numerical tolerance δ of a standard uncertainty (clause 7.9.2): u = c × 10^l with `digits` digits in the
/// integer c; δ = ½ × 10^l.
inline double numericalTolerance(double u, int digits) {
    const double l = std::floor(std::log10(u)) - (digits - 1);
    const double rounded =
        std::round(u / std::pow(10.0, l));  // may round up to one digit more: 0.0996 → 0.10
    return 0.5 * std::pow(10.0, rounded >= std::pow(10.0, digits) ? l + 1 : l);
}

/// Draws of a quantity, sorted (clause 7.5).
class Draws {
  public:
    explicit Draws(std::vector<double> values) : sorted_(std::move(values)) {
        std::sort(sorted_.begin(), sorted_.end());
    }
    double mean() const {
        double sum = 0.0;
        for (const double v : sorted_) sum += v;
        return sum / static_cast<double>(sorted_.size());
    }
    double sigma() const {
        const double m = mean();
        double sum = 0.0;
        for (const double v : sorted_) sum += (v - m) * (v - m);
        return std::sqrt(sum / static_cast<double>(sorted_.size() - 1));
    }
    /// Value that the share p of the draws does not exceed.
    double quantile(double p) const {
        const double at = p * static_cast<double>(sorted_.size()) - 0.5;
        const double low = std::clamp(std::floor(at), 0.0, static_cast<double>(sorted_.size() - 1));
        const auto i = static_cast<std::size_t>(low);
        if (i + 1 >= sorted_.size()) return sorted_.back();
        return sorted_[i] + std::clamp(at - low, 0.0, 1.0) * (sorted_[i + 1] - sorted_[i]);
    }
    /// Standard deviation of `quantile(p)` from draw to draw (order statistics: √(p(1−p)/M)/density), with
    /// the density taken from the draws around it.
    double quantileSigma(double p) const {
        const double h = std::min({0.02, 0.4 * p, 0.4 * (1 - p)}), m = static_cast<double>(sorted_.size());
        return std::sqrt(p * (1 - p) / m) * (quantile(p + h) - quantile(p - h)) / (2 * h);
    }

  private:
    std::vector<double> sorted_;
};

/// Clause 8.1: the endpoints of the interval y ± k u against those of the draws.
struct Validation {
    double low = 0.0, high = 0.0;  ///< |difference| of the lower and of the upper endpoints
    double delta = 0.0;            ///< what u, stated to `digits`, allows
    double scatter = 0.0;          ///< standard deviation of the worse endpoint because the draws are finite
    bool validated() const { return std::max(low, high) <= delta; }
};

inline Validation validate(const Draws& draws, double y, double u, double k, double probability, int digits) {
    const double tail = 0.5 * (1 - probability);
    Validation v;
    v.low = std::abs(y - k * u - draws.quantile(tail));
    v.high = std::abs(y + k * u - draws.quantile(1 - tail));
    v.delta = numericalTolerance(u, digits);
    v.scatter = std::max(draws.quantileSigma(tail), draws.quantileSigma(1 - tail));
    return v;
}

}  // namespace trammel::test
