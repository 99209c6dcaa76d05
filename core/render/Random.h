// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>

namespace trammel::render {

/// Random numbers that are the same on every machine for one seed: the engine's output is fixed by the
/// standard, the library's distributions are not, so the transforms are our own (Box and Muller 1958).
class Random {
  public:
    explicit Random(std::uint64_t seed) : engine_(seed) {}
    /// Uniform in (0, 1).
    double uniform() { return (static_cast<double>(engine_() >> 11) + 0.5) * 0x1.0p-53; }
    /// Standard normal.
    double normal() {
        if (spare_) {
            spare_ = false;
            return kept_;
        }
        const double r = std::sqrt(-2.0 * std::log(uniform()));
        const double angle = 2.0 * std::numbers::pi * uniform();
        kept_ = r * std::sin(angle);
        spare_ = true;
        return r * std::cos(angle);
    }

  private:
    std::mt19937_64 engine_;
    double kept_ = 0.0;
    bool spare_ = false;
};

}  // namespace trammel::render
