// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <cmath>

/// Forward differentiation with dual numbers (Wengert 1964): exact derivatives by up to nine unknowns, in
/// extended precision, independent of the code under test.
namespace trammel::test {

struct Dual {
    static constexpr std::size_t kMost = 11;
    long double v = 0;
    std::array<long double, kMost> d{};

    Dual(long double value = 0) : v(value) {}
    static Dual unknown(long double value, std::size_t index) {
        Dual x(value);
        x.d[index] = 1;
        return x;
    }
    /// f(x) from its value and slope at x.
    Dual through(long double value, long double slope) const {
        Dual out(value);
        for (std::size_t i = 0; i < kMost; ++i) out.d[i] = slope * d[i];
        return out;
    }
};

inline Dual operator+(const Dual& a, const Dual& b) {
    Dual out(a.v + b.v);
    for (std::size_t i = 0; i < Dual::kMost; ++i) out.d[i] = a.d[i] + b.d[i];
    return out;
}
inline Dual operator-(const Dual& a) { return a.through(-a.v, -1); }
inline Dual operator-(const Dual& a, const Dual& b) { return a + (-b); }
inline Dual operator*(const Dual& a, const Dual& b) {
    Dual out(a.v * b.v);
    for (std::size_t i = 0; i < Dual::kMost; ++i) out.d[i] = a.d[i] * b.v + a.v * b.d[i];
    return out;
}
inline Dual operator/(const Dual& a, const Dual& b) { return a * b.through(1 / b.v, -1 / (b.v * b.v)); }
inline Dual exp(const Dual& a) { return a.through(std::exp(a.v), std::exp(a.v)); }
inline Dual log(const Dual& a) { return a.through(std::log(a.v), 1 / a.v); }
inline Dual sin(const Dual& a) { return a.through(std::sin(a.v), std::cos(a.v)); }
inline Dual cos(const Dual& a) { return a.through(std::cos(a.v), -std::sin(a.v)); }
inline Dual atan(const Dual& a) { return a.through(std::atan(a.v), 1 / (1 + a.v * a.v)); }
inline Dual pow(const Dual& a, const Dual& b) { return exp(b * log(a)); }

}  // namespace trammel::test
