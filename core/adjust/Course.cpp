// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Course.h"

#include <cmath>
#include <numbers>

namespace trammel::adjust {

std::vector<Vec3> courseOf(const FeatureGeometry& f, int steps) {
    if (!f.course.empty()) return f.course;
    if (f.kind == survey::FeatureKind::Corner) return {f.point};
    std::vector<Vec3> points;
    if (f.kind == survey::FeatureKind::Edge) {
        for (int i = 0; i <= steps; ++i) {
            const double t = static_cast<double>(i) / steps;
            const Vec2 p = f.spanFrom + (f.spanTo - f.spanFrom) * t;
            points.emplace_back(p.x(), p.y(), f.point.z() + f.slope * (t - 0.5));
        }
        return points;
    }
    const Vec2 c = f.point.head<2>(), a = f.spanFrom - c, b = f.spanTo - c;
    double start = 0.0, sweep = 2 * std::numbers::pi;
    if (f.kind == survey::FeatureKind::Arc) {
        start = std::atan2(a.y(), a.x());
        sweep = std::atan2(b.y(), b.x()) - start;
        if (sweep <= 0) sweep += 2 * std::numbers::pi;
    }
    for (int i = 0; i <= steps; ++i) {
        const double t = start + sweep * i / steps;
        points.emplace_back(c.x() + f.radius * std::cos(t), c.y() + f.radius * std::sin(t), f.point.z());
    }
    return points;
}

}  // namespace trammel::adjust
