// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Step.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace trammel::fit {
namespace {

/// Φ(z) and its density by Taylor's series of fourth order from the nearest of tabulated places: error below
/// 1e-12.
struct Normal {
    double density = 0.0, phi = 0.0;
};

constexpr double kEnd = 9.0, kPerUnit = 64.0;  // beyond the end Φ is 0 or 1 to 1e-18

const std::vector<Normal>& normalTable() {
    static const std::vector<Normal> table = [] {
        std::vector<Normal> t;
        for (int i = 0; i <= static_cast<int>(2 * kEnd * kPerUnit); ++i) {
            const double at = i / kPerUnit - kEnd;
            t.push_back({std::exp(-0.5 * at * at) / std::sqrt(2.0 * std::numbers::pi),
                         0.5 * std::erfc(-at / std::numbers::sqrt2)});
        }
        return t;
    }();
    return table;
}

Normal normalAt(const Normal* table, double z) {
    if (z <= -kEnd) return {0.0, 0.0};
    if (z >= kEnd) return {0.0, 1.0};
    const int i = static_cast<int>((z + kEnd) * kPerUnit + 0.5);
    const double a = i / kPerUnit - kEnd, u = z - a;
    const Normal& n = table[i];
    // Hermite's polynomials: the derivatives of the density over the density, signs apart.
    const double h2 = a * a - 1.0, h3 = a * (a * a - 3.0), h4 = a * a * (a * a - 6.0) + 3.0;
    return {n.density * (1.0 - u * (a - u * (h2 / 2.0 - u * (h3 / 6.0 - u * h4 / 24.0)))),
            n.phi + n.density * u * (1.0 - u * (a / 2.0 - u * (h2 / 6.0 - u * h3 / 24.0)))};
}

/// Φ(x/σ), its density and its first two antiderivatives at x.
struct Gauss {
    double density, phi, first, second;
    Gauss(const Normal* table, double x, double sigma, double perSigma) {
        const Normal n = normalAt(table, x * perSigma);
        density = n.density * perSigma;
        phi = n.phi;
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
    const Normal* normals = normalTable().data();
    const double perSigma = 1.0 / sigma;
    const auto gauss = [&](double x) { return Gauss(normals, x, sigma, perSigma); };
    spacing_ = reach_ / half;
    perSpacing_ = half / reach_;
    table_.resize(2 * half + 1);
    for (int i = 0; i <= half; ++i) {
        const double x = (i - half) * spacing_;
        Value& v = table_[i];
        if (narrow == 0.0) {
            const Gauss up = gauss(x + wide / 2), down = gauss(x - wide / 2);
            v = {(up.first - down.first) / wide, (up.phi - down.phi) / wide,
                 (up.density - down.density) / wide};
            table_[2 * half - i] = {1.0 - v.s, v.slope, -v.bend};
            continue;
        }
        const double p = (wide + narrow) / 2, q = (wide - narrow) / 2, area = wide * narrow;
        const Gauss a = gauss(x + p), b = gauss(x + q), c = gauss(x - q), d = gauss(x - p);
        v.s = (a.second - b.second - c.second + d.second) / area;
        v.slope = (a.first - b.first - c.first + d.first) / area;
        v.bend = (a.phi - b.phi - c.phi + d.phi) / area;
        table_[2 * half - i] = {1.0 - v.s, v.slope, -v.bend};
    }
}

}  // namespace trammel::fit
