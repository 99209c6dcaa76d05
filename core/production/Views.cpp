// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/production/Views.h"

#include <cmath>
#include <set>

#include "core/adjust/AdviceCandidates.h"
#include "core/adjust/Course.h"

namespace trammel::production {
namespace {

constexpr int kSteps = 96;

}  // namespace

Shape shapeOf(const drawing::Drawing& d, const survey::Survey& survey, const adjust::Solution& solution,
              double thickness_mm) {
    Shape s{drawing::envelopeOf(d, survey, solution, thickness_mm), {}};
    const auto aside = adjust::besideThePart(survey);
    std::set<survey::Id> taken(aside.begin(), aside.end());
    for (const auto& c : d.chains) taken.insert(c.level);
    for (const auto& h : d.holes)
        if (h.cut) taken.insert(h.level);
    for (const drawing::Prism& p : s.envelope.prisms)
        for (const auto& [level, z] : solution.levels)
            if (std::abs(z - p.low) < 1e-9) taken.insert(level);
    for (const survey::Feature& f : survey.features) {
        const auto it = solution.features.find(f.id);
        if (f.kind == survey::FeatureKind::Corner || f.level.empty() || it == solution.features.end() ||
            taken.contains(f.id) || taken.contains(f.level))
            continue;
        auto course = adjust::courseOf(it->second, f.kind == survey::FeatureKind::Edge ? 1 : kSteps);
        bool sound = course.size() > 1;
        for (const Vec3& p : course) sound = sound && p.allFinite();
        if (sound) s.loose.push_back({std::move(course), f.level});
    }
    return s;
}

std::vector<ViewLine> linesOf(const Shape& shape, View view) {
    const bool plan = view == View::Top || view == View::Bottom || view == View::Oblique;
    return plan ? planLines(shape, view) : sideLines(shape, view);
}

}  // namespace trammel::production
