// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cmath>
#include <vector>

#include "core/render/Observe.h"
#include "core/render/Picture.h"

/// Measures where an edge lies in rendered light, by means that share nothing with the renderer's geometry:
/// along a column (or row) of pixels that crosses it, the mean light is a mixture of the two sides, so the
/// sum of the light tells how far the first side reaches.
namespace trammel::render::test {

/// Moves of the edge against `px` (first picture coordinate of the crossing), along the columns or rows near
/// px, in px; empty where the two sides do not differ enough to tell. Adds up `reach` pixels to both sides.
inline std::vector<double> edgeMisses(const Light& light, const Vec2& a, const Vec2& b, int reach) {
    const bool flat =
        std::abs(b.x() - a.x()) > std::abs(b.y() - a.y());  // scan along y where the edge is flat
    const auto value = [&](int u, int v) {
        const std::size_t at = flat ? static_cast<std::size_t>(v) * light.width + u
                                    : static_cast<std::size_t>(u) * light.width + v;
        return static_cast<double>(light.rgb[at * 3 + 1]);
    };
    const auto u = [&](const Vec2& p) { return flat ? p.x() : p.y(); };
    const auto v = [&](const Vec2& p) { return flat ? p.y() : p.x(); };
    const Vec2 &first = u(a) < u(b) ? a : b, &last = u(a) < u(b) ? b : a;
    std::vector<double> misses;
    for (int i = static_cast<int>(std::ceil(u(first))); i <= u(last); ++i) {
        const double s = (i - u(first)) / (u(last) - u(first));
        const double truth = v(first) + s * (v(last) - v(first));
        const int middle = static_cast<int>(std::lround(truth));
        const double before = value(i, middle - reach), after = value(i, middle + reach);
        if (std::abs(before - after) < 0.01) continue;
        double share = 0.0;  // pixels of the first side, from middle - reach on
        for (int j = middle - reach; j <= middle + reach; ++j)
            share += (value(i, j) - after) / (before - after);
        misses.push_back(middle - reach - 0.5 + share - truth);
    }
    return misses;
}

inline double mean(const std::vector<double>& v) {
    double sum = 0.0;
    for (const double x : v) sum += x;
    return v.empty() ? 0.0 : sum / static_cast<double>(v.size());
}

}  // namespace trammel::render::test
