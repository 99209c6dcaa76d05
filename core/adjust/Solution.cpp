// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Solution.h"

#include <cmath>

#include "core/adjust/Course.h"
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
    std::vector<Vec2> out;
    for (const Vec3& X : courseOf(f->second, steps)) {
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
