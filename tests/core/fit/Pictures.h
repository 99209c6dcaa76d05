// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <random>
#include <vector>

#include "core/math/Types.h"
#include "core/photo/Image.h"

/// Pictures with known truth, made without any code of core/fit: the scene is convolved with a Gaussian in
/// closed form or by quadrature, integrated over each pixel by supersampling, given noise, and stored as
/// 8-bit sRGB.
namespace pictures {

using trammel::Vec2;
using trammel::photo::LinearImage;

struct Camera {
    double noise = 0.0;    ///< standard deviation in linear light
    bool eightBit = true;  ///< stored as 8-bit codes of the sRGB curve (IEC 61966-2-1)
    unsigned seed = 1;
};

inline double toSrgb(double v) {
    v = std::clamp(v, 0.0, 1.0);
    return v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1.0 / 2.4) - 0.055;
}

inline double fromSrgb(double c) { return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4); }

/// `light` is the blurred scene at a place in px; every pixel averages n × n of its values.
inline LinearImage take(int width, int height, const std::function<double(const Vec2&)>& light,
                        const Camera& camera, int n = 6) {
    LinearImage out;
    out.width = width;
    out.height = height;
    out.data.resize(static_cast<std::size_t>(width) * height);
    std::mt19937 generator(camera.seed);
    std::normal_distribution<double> gauss(0.0, 1.0);
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x) {
            double sum = 0.0;
            for (int j = 0; j < n; ++j)
                for (int i = 0; i < n; ++i)
                    sum += light(Vec2(x + (i + 0.5) / n - 0.5, y + (j + 0.5) / n - 0.5));
            double v = sum / (n * n);
            if (camera.noise > 0.0) v += camera.noise * gauss(generator);
            if (camera.eightBit) v = fromSrgb(std::round(255.0 * toSrgb(v)) / 255.0);
            out.data[static_cast<std::size_t>(y) * width + x] = static_cast<float>(v);
        }
    return out;
}

/// Half plane n·p > c of light `high`, the rest `low`, blurred by a Gaussian.
inline std::function<double(const Vec2&)> halfPlane(const Vec2& n, double c, double low, double high,
                                                    double blur) {
    return [=](const Vec2& p) {
        return low + (high - low) * 0.5 * std::erfc(-(n.dot(p) - c) / (blur * std::numbers::sqrt2));
    };
}

/// Share of a disc of radius R seen at distance r from its centre through a Gaussian:
/// ∫₀ᴿ (ρ/σ²) exp(−(ρ² + r²)/2σ²) I₀(rρ/σ²) dρ, by Simpson's rule, I₀ scaled against overflow
/// (Abramowitz & Stegun 9.7.1 for large arguments).
inline double blurredDisc(double r, double radius, double blur) {
    auto scaledBessel = [](double x) {
        if (x < 30.0) return std::cyl_bessel_i(0.0, x) * std::exp(-x);
        return (1.0 + 1.0 / (8 * x) + 9.0 / (128 * x * x) + 225.0 / (3072 * x * x * x)) /
               std::sqrt(2.0 * std::numbers::pi * x);
    };
    const double s2 = blur * blur;
    const double low = std::max(0.0, r - 9 * blur), high = std::min(radius, r + 9 * blur);
    if (high <= low) return r < radius ? 1.0 : 0.0;
    auto f = [&](double q) {
        return q / s2 * std::exp(-0.5 * (r - q) * (r - q) / s2) * scaledBessel(r * q / s2);
    };
    const int n = 200;
    const double h = (high - low) / n;
    double sum = f(low) + f(high);
    for (int i = 1; i < n; ++i) sum += (i % 2 ? 4.0 : 2.0) * f(low + i * h);
    return sum * h / 3.0;
}

/// A disc of light `inside` on `outside`, blurred; the radial profile is tabulated at 0.02 px.
inline std::function<double(const Vec2&)> disc(const Vec2& centre, double radius, double inside,
                                               double outside, double blur) {
    const double reach = radius + 9 * blur + 2, step = 0.02;
    std::vector<double> table(static_cast<std::size_t>(reach / step) + 2);
    for (std::size_t i = 0; i < table.size(); ++i) table[i] = blurredDisc(i * step, radius, blur);
    return [=](const Vec2& p) {
        const double f = (p - centre).norm() / step;
        const std::size_t i = static_cast<std::size_t>(f);
        if (i + 1 >= table.size()) return outside;
        const double share = table[i] + (f - i) * (table[i + 1] - table[i]);
        return outside + (inside - outside) * share;
    };
}

/// The quarter plane u < 0, v < 0 in axes turned by `angle` about `corner` (a right angle separates).
inline std::function<double(const Vec2&)> rightCorner(const Vec2& corner, double angle, double low,
                                                      double high, double blur) {
    const Vec2 a(std::cos(angle), std::sin(angle)), b(-std::sin(angle), std::cos(angle));
    return [=](const Vec2& p) {
        const double u = a.dot(p - corner), v = b.dot(p - corner), k = 1.0 / (blur * std::numbers::sqrt2);
        return low + (high - low) * 0.25 * std::erfc(u * k) * std::erfc(v * k);
    };
}

}  // namespace pictures
