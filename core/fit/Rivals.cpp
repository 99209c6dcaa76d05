// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Rivals.h"

#include <fmt/core.h>

#include <algorithm>
#include <span>

namespace trammel::fit {
namespace {
constexpr double kOpen_px = 1.0;  ///< between its ends a rim is an arc
}

std::string letterOf(std::size_t index) {
    const std::string letter(1, static_cast<char>('A' + index % 26));
    return index < 26 ? letter : letter + std::to_string(index / 26);
}

std::string tell(const Rival& r) {
    if (r.line.empty()) return "nowhere";
    const double gap = (r.line.back() - r.line.front()).norm();
    if (r.rim && gap > kOpen_px) {
        const Vec2 &a = r.line.front(), &b = r.line[r.line.size() / 2], &c = r.line.back();
        return fmt::format("({:.1f}, {:.1f}) by ({:.1f}, {:.1f}) to ({:.1f}, {:.1f}), lighter {}", a.x(),
                           a.y(), b.x(), b.y(), c.x(), c.y(), r.sense > 0 ? "outside" : "inside");
    }
    if (r.rim) {
        const auto round = std::span(r.line).first(std::max<std::size_t>(1, r.line.size() - 1));  // ends once
        const double share = 1.0 / static_cast<double>(round.size());
        Vec2 middle = Vec2::Zero();
        for (const Vec2& p : round) middle += share * p;
        double radius = 0.0;
        for (const Vec2& p : round) radius += share * (p - middle).norm();
        return fmt::format("through ({:.1f}, {:.1f}), {:.1f} px from its middle, lighter {}",
                           r.line.front().x(), r.line.front().y(), radius,
                           r.sense > 0 ? "outside" : "inside");
    }
    const Vec2 a = r.line.front(), b = r.line.back(), right(a.y() - b.y(), b.x() - a.x());
    const Vec2 light = r.sense * right;
    const bool upright = std::abs(light.y()) < std::abs(light.x());
    const char* side =
        upright ? (light.x() > 0 ? "on the right" : "on the left") : (light.y() > 0 ? "below" : "above");
    return fmt::format("({:.1f}, {:.1f}) to ({:.1f}, {:.1f}), lighter {}", a.x(), a.y(), b.x(), b.y(), side);
}

std::string tellAll(const std::vector<Rival>& rivals) {
    std::string out;
    for (std::size_t i = 0; i < rivals.size(); ++i)
        out += (i ? "; " : "") + letterOf(i) + " " + tell(rivals[i]);
    return out;
}

}  // namespace trammel::fit
