// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <optional>
#include <vector>

#include "core/photo/Image.h"

/// The slanted-edge method of ISO 12233:2017 (edge-based spatial frequency response; from memory), in linear
/// light: centroid of each row's derivative, straight line through the centroids, edge-spread function in
/// bins of a quarter pixel across that line, its derivative under a Hamming window, Fourier transform.
/// Independent of core/fit.
namespace trammel::test {

struct SlantedEdge {
    double sfr50 = 0.0;    ///< cycles per px where the response falls to one half
    double blur_px = 0.0;  ///< of the Gaussian that, with a square pixel, falls to one half there
};

namespace slanted {

constexpr int kBins = 4;  // a pixel

inline double hamming(double x, double half) {
    return std::abs(x) > half ? 0.0 : 0.54 + 0.46 * std::cos(std::numbers::pi * x / half);
}

/// Line x = a + b·y through the rows' centroids; twice, the second time with windows about the first line.
inline bool edgeLine(const photo::LinearImage& image, int x0, int x1, int y0, int y1, double& a, double& b) {
    a = 0.5 * (x0 + x1);
    b = 0.0;
    for (int pass = 0; pass < 3; ++pass) {
        double n = 0, sy = 0, syy = 0, sx = 0, sxy = 0;
        for (int y = y0; y <= y1; ++y) {
            const double middle = a + b * y, half = pass == 0 ? 0.5 * (x1 - x0) : 8.0;
            double weight = 0, moment = 0;
            for (int x = std::max(x0 + 1, static_cast<int>(middle - half));
                 x <= std::min(x1 - 1, static_cast<int>(middle + half)); ++x) {
                const double d = 0.5 * (image.at(x + 1, y) - image.at(x - 1, y)) * hamming(x - middle, half);
                weight += d;
                moment += d * x;
            }
            if (weight == 0.0) return false;
            const double x = moment / weight;
            n += 1, sy += y, syy += 1.0 * y * y, sx += x, sxy += x * y;
        }
        b = (n * sxy - sy * sx) / (n * syy - sy * sy);
        a = (sx - b * sy) / n;
    }
    return std::isfinite(a) && std::isfinite(b);
}

/// Response of a Gaussian and a pixel, with the bins' and the two-point derivative's own (all known).
inline double modelled(double f, double sigma) {
    const auto sinc = [](double x) {
        return x == 0.0 ? 1.0 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
    };
    return std::exp(-2.0 * std::pow(std::numbers::pi * sigma * f, 2)) * sinc(f) * sinc(f / kBins) *
           sinc(2.0 * f / kBins);
}

}  // namespace slanted

/// Edge nearly along y inside the given columns and rows, lighter to the right or to the left.
inline std::optional<SlantedEdge> slantedEdge(const photo::LinearImage& image, int x0, int x1, int y0,
                                              int y1) {
    using namespace slanted;
    double a = 0.0, b = 0.0;
    if (!edgeLine(image, x0, x1, y0, y1, a, b)) return std::nullopt;
    const int half = 40 * kBins;
    std::vector<double> sum(2 * half + 1), count(2 * half + 1), spread(2 * half + 1);
    const double across =
        1.0 / std::sqrt(1.0 + b * b);  // from distance along the row to distance from the edge
    for (int y = y0; y <= y1; ++y)
        for (int x = x0; x <= x1; ++x) {
            const int k = static_cast<int>(std::lround((x - a - b * y) * across * kBins)) + half;
            if (k < 0 || k > 2 * half) continue;
            sum[k] += image.at(x, y);
            count[k] += 1.0;
        }
    for (int k = 0; k <= 2 * half; ++k) {
        if (count[k] == 0.0) return std::nullopt;
        spread[k] = sum[k] / count[k];
    }
    const auto response = [&](double f) {
        std::complex<double> r = 0.0;
        for (int k = 1; k < 2 * half; ++k) {
            const double x = static_cast<double>(k - half) / kBins;
            r += 0.5 * (spread[k + 1] - spread[k - 1]) * hamming(x, 40.0) *
                 std::polar(1.0, -2.0 * std::numbers::pi * f * x);
        }
        return std::abs(r);
    };
    const double zero = response(0.0);
    double f = 0.0;
    while (f < 1.0 && response(f) > 0.5 * zero) f += 0.002;
    if (f >= 1.0) return std::nullopt;
    double low = 0.0, high = 6.0;
    for (int k = 0; k < 50; ++k) (modelled(f, 0.5 * (low + high)) > 0.5 ? low : high) = 0.5 * (low + high);
    return SlantedEdge{f, 0.5 * (low + high)};
}

}  // namespace trammel::test
