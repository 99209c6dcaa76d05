// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Step.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace trammel::fit {
namespace {

/// Φ(x/σ), its density and its first two antiderivatives at x.
struct Gauss {
    double density, phi, first, second;
    Gauss(double x, double sigma) {
        const double z = x / sigma;
        density = std::exp(-0.5 * z * z) / (sigma * std::sqrt(2.0 * std::numbers::pi));
        phi = 0.5 * std::erfc(-z / std::numbers::sqrt2);
        first = x * phi + sigma * sigma * density;
        second = 0.5 * ((x * x + sigma * sigma) * phi + sigma * sigma * x * density);
    }
};

}  // namespace

Step::Step(double blur, const Vec2& normal) : blur_(blur) {
    const double wide = std::max(std::abs(normal.x()), std::abs(normal.y()));
    double narrow = std::min(std::abs(normal.x()), std::abs(normal.y()));
    double sigma = blur;
    // A box much narrower than the blur acts by its variance only; the closed form would cancel there.
    if (narrow < 0.06) {
        sigma = std::sqrt(blur * blur + narrow * narrow / 12.0);
        narrow = 0.0;
    }
    reach_ = 4.5 * sigma + 0.75;
    const int half = std::max(8, static_cast<int>(std::ceil(reach_ / std::min(0.12 * sigma, 0.25))));
    spacing_ = reach_ / half;
    table_.resize(2 * half + 1);
    for (int i = 0; i <= 2 * half; ++i) {
        const double x = (i - half) * spacing_;
        Value& v = table_[i];
        if (narrow == 0.0) {
            const Gauss up(x + wide / 2, sigma), down(x - wide / 2, sigma);
            v = {(up.first - down.first) / wide, (up.phi - down.phi) / wide,
                 (up.density - down.density) / wide};
            continue;
        }
        const double p = (wide + narrow) / 2, q = (wide - narrow) / 2, area = wide * narrow;
        const Gauss a(x + p, sigma), b(x + q, sigma), c(x - q, sigma), d(x - p, sigma);
        v.s = (a.second - b.second - c.second + d.second) / area;
        v.slope = (a.first - b.first - c.first + d.first) / area;
        v.bend = (a.phi - b.phi - c.phi + d.phi) / area;
    }
}

Step::Value Step::at(double x) const {
    if (x <= -reach_) return {0.0, 0.0, 0.0};
    if (x >= reach_) return {1.0, 0.0, 0.0};
    const double f = (x + reach_) / spacing_;
    const int i = std::min(static_cast<int>(f), static_cast<int>(table_.size()) - 2);
    const double u = f - i, h = spacing_;
    const Value &a = table_[i], &b = table_[i + 1];
    auto hermite = [&](double y0, double d0, double y1, double d1) {
        const double rise = y1 - y0;
        return y0 + u * (h * d0 + u * (3 * rise - h * (2 * d0 + d1) + u * (h * (d0 + d1) - 2 * rise)));
    };
    return {hermite(a.s, a.slope, b.s, b.slope), hermite(a.slope, a.bend, b.slope, b.bend),
            a.bend + u * (b.bend - a.bend)};
}

}  // namespace trammel::fit
