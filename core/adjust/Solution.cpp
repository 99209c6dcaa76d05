// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Solution.h"

#include <cmath>
#include <numbers>

#include "core/adjust/Covariance.h"

namespace trammel::adjust {

double Covariance::sigma(const estimate::Gradient& gradient) const {
    return inflation_ * std::sqrt(std::max(0.0, factor_.variance(gradient)));
}

Result<DimensionResult> Solution::measure(const survey::Dimension& dimension) const {
    if (!covariance)
        return Error{ErrorCode::Refused, "has no ± yet", "dimension " + dimension.name,
                     "adjust the survey first"};
    auto term = resolve(covariance->survey(), dimension.quantity, dimension.objects, dimension.id);
    if (!term) return term.error();
    for (const survey::Id& id : dimension.objects)
        if (!features.contains(id) && !levels.contains(id) && !stations.contains(id))
            return Error{
                ErrorCode::Refused,
                "cannot be computed: " + describe(covariance->survey(), id) + " is marked in no photograph",
                "dimension " + (dimension.name.empty() ? dimension.id : dimension.name),
                "mark it or remove the dimension"};
    const QuantityValue q = evaluate(*term, covariance->state(), covariance->columns());
    return DimensionResult{dimension, q.value, 2.0 * covariance->sigma(q.gradient)};
}

std::vector<Vec2> Solution::project(const survey::Survey& survey, const Id& feature, const Id& station,
                                    int steps) const {
    const auto f = features.find(feature);
    const auto s = stations.find(station);
    const survey::Station* where = find(survey.stations, station);
    if (f == features.end() || s == stations.end() || !where) return {};
    const Vec2 offset = s->second.offset;
    const FeatureGeometry& g = f->second;
    std::vector<Vec3> points;
    if (!g.course.empty()) {
        points = g.course;
    } else if (g.kind == survey::FeatureKind::Corner) {
        points.push_back(g.point);
    } else if (g.kind == survey::FeatureKind::Edge) {
        for (int i = 0; i <= steps; ++i) {
            const double t = static_cast<double>(i) / steps;
            const Vec2 p = g.spanFrom + (g.spanTo - g.spanFrom) * t;
            points.emplace_back(p.x(), p.y(), g.point.z() + g.slope * (t - 0.5));
        }
    } else {
        const Vec2 c = g.point.head<2>(), a = g.spanFrom - c, b = g.spanTo - c;
        double start = 0.0, sweep = 2 * std::numbers::pi;
        if (g.kind == survey::FeatureKind::Arc) {
            start = std::atan2(a.y(), a.x());
            sweep = std::atan2(b.y(), b.x()) - start;
            if (sweep <= 0) sweep += 2 * std::numbers::pi;
        }
        for (int i = 0; i <= steps; ++i) {
            const double t = start + sweep * i / steps;
            points.emplace_back(c.x() + g.radius * std::cos(t), c.y() + g.radius * std::sin(t), g.point.z());
        }
    }
    std::vector<Vec2> out;
    for (const Vec3& X : points) {
        const auto u = camera::project(s->second.constants, s->second.pose, X);
        if (!u) return {};
        out.push_back(*u - offset);
    }
    return out;
}

std::map<Id, double> scalesOf(const Solution* solution) {
    std::map<Id, double> scales;
    if (solution)
        for (const auto& [id, station] : solution->stations) scales[id] = station.scale_px_per_mm;
    return scales;
}

}  // namespace trammel::adjust
