// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <numbers>

namespace trammel {

/// An angle that remembers its unit: inside radians, people read degrees.
class Angle {
  public:
    constexpr Angle() = default;
    static constexpr Angle radians(double v) { return Angle(v); }
    static constexpr Angle degrees(double v) { return Angle(v * std::numbers::pi / 180.0); }
    constexpr double rad() const { return rad_; }
    constexpr double deg() const { return rad_ * 180.0 / std::numbers::pi; }

  private:
    constexpr explicit Angle(double rad) : rad_(rad) {}
    double rad_ = 0.0;
};

}  // namespace trammel
