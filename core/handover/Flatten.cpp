// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/Flatten.h"

#include <algorithm>
#include <cmath>

#include "core/geometry/Piece.h"

namespace trammel::handover {

std::vector<Vec2> flattened(const geometry::Chain& chain, double most) {
    std::vector<Vec2> out;
    for (const geometry::Piece& p : pieces(chain)) {
        out.push_back(p.from);
        if (!p.isArc()) continue;
        const double steps = std::abs(p.sweep) * std::sqrt(p.circle.radius / (8 * most));
        const int n = 1 + static_cast<int>(std::clamp(steps, 0.0, 5000.0));
        for (int i = 1; i < n; ++i) {
            const double t = p.startAngle + p.sweep * i / n;
            out.push_back(p.circle.centre + p.circle.radius * Vec2(std::cos(t), std::sin(t)));
        }
    }
    return out;
}

}  // namespace trammel::handover
