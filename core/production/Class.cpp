// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/production/Class.h"

#include <algorithm>
#include <cmath>

namespace trammel::production {
namespace {

using standard::Toleranced;
using survey::Quantity;

double shorterLeg(const survey::Dimension& d, const adjust::Solution& solution) {
    std::vector<const adjust::FeatureGeometry*> g;
    for (const auto& id : d.objects)
        if (const auto it = solution.features.find(id); it != solution.features.end())
            g.push_back(&it->second);
    if (g.size() == 2)
        return std::min((g[0]->spanTo - g[0]->spanFrom).norm(), (g[1]->spanTo - g[1]->spanFrom).norm());
    if (g.size() == 3)
        return std::min((g[0]->point - g[1]->point).norm(), (g[2]->point - g[1]->point).norm());
    return 0.0;
}

}  // namespace

std::optional<standard::ToleranceClass> classOf(const survey::Survey& survey,
                                                const adjust::Solution& solution,
                                                const std::vector<HoleRow>& holes) {
    std::vector<standard::ToleratedSize> sizes;
    for (const adjust::DimensionResult& r : solution.dimensions) {
        const survey::Dimension& d = r.dimension;
        if (d.quantity == Quantity::Tape) continue;  // of a camera, not of the part
        standard::ToleratedSize s{Toleranced::Length, std::abs(r.value), r.plusMinus};
        if (d.quantity == Quantity::Angle) {
            s.what = Toleranced::Angle;
            s.size_mm = shorterLeg(d, solution);
        } else if (d.quantity == Quantity::Radius && !d.objects.empty()) {
            const auto* f = survey::find(survey.features, d.objects.front());
            if (f && f->kind == survey::FeatureKind::Arc) s.what = Toleranced::Broken;
        }
        sizes.push_back(s);
    }
    for (const HoleRow& h : holes) {
        sizes.push_back({Toleranced::Length, h.diameter, h.diameterPlusMinus});
        for (int k = 0; k < (h.onAxis ? 1 : 2) && !h.isDatum; ++k)
            sizes.push_back({Toleranced::Length, std::abs(h.centre[k]), h.centrePlusMinus[k]});
    }
    return standard::supportedClass(sizes);
}

}  // namespace trammel::production
