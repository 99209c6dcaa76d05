// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <map>

#include "core/solid/Solid.h"

namespace trammel::solid {
namespace {

constexpr std::size_t kHead = 84, kTriangle = 50;  // bytes

using Corner = std::array<float, 3>;

}  // namespace

std::optional<double> closedVolume(const std::string& stl) {
    std::uint32_t count = 0;
    if (stl.size() < kHead) return std::nullopt;
    std::memcpy(&count, stl.data() + 80, 4);
    if (count == 0 || stl.size() != kHead + kTriangle * static_cast<std::size_t>(count)) return std::nullopt;
    std::map<std::array<Corner, 2>, int> sides;
    double six = 0.0;
    for (std::size_t i = 0; i < count; ++i) {
        std::array<Corner, 3> c;
        std::memcpy(c.data(), stl.data() + kHead + kTriangle * i + 12, 36);
        std::array<Vec3, 3> p;
        for (std::size_t k = 0; k < 3; ++k) {
            for (std::size_t j = 0; j < 3; ++j) {
                if (!std::isfinite(c[k][j])) return std::nullopt;
                c[k][j] += 0.0F;  // −0 and 0 are one place
                p[k][static_cast<Eigen::Index>(j)] = c[k][j];
            }
        }
        for (std::size_t k = 0; k < 3; ++k) {
            const Corner &a = c[k], &b = c[(k + 1) % 3];
            if (a == b) return std::nullopt;
            sides[a < b ? std::array<Corner, 2>{a, b} : std::array<Corner, 2>{b, a}] += a < b ? 1 : -1;
        }
        six += p[0].x() * (p[1].y() * p[2].z() - p[1].z() * p[2].y()) +
               p[0].y() * (p[1].z() * p[2].x() - p[1].x() * p[2].z()) +
               p[0].z() * (p[1].x() * p[2].y() - p[1].y() * p[2].x());
    }
    for (const auto& [side, sum] : sides)
        if (sum != 0) return std::nullopt;
    return six / 6.0;
}

}  // namespace trammel::solid
