// SPDX-License-Identifier: GPL-3.0-or-later
#include "TrueImages.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace trammel::campaign {
namespace {

using survey::FeatureKind;

double distanceFrom(const std::vector<Vec2>& line, const Vec2& px) {
    double best = line.size() == 1 ? (px - line[0]).norm() : INFINITY;
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
        const Vec2 ab = line[i + 1] - line[i];
        const double t = std::clamp(ab.dot(px - line[i]) / ab.squaredNorm(), 0.0, 1.0);
        best = std::min(best, (px - line[i] - t * ab).norm());
    }
    return best;
}

}  // namespace

double TrueImages::distance(const survey::Mark& mark) const {
    const std::vector<Vec2> line = image(mark.station, mark.feature);
    double sum = 0.0;
    for (const auto& p : mark.points)
        sum += std::pow(distanceFrom(line, p.px), 2) / static_cast<double>(mark.points.size());
    return std::sqrt(sum);
}

double TrueImages::distance(const survey::Mark& mark, const Vec2& px) const {
    return distanceFrom(image(mark.station, mark.feature), px);
}

std::vector<Vec2> TrueImages::image(const survey::Id& station, const survey::Id& feature) const {
    const auto& scene = sample_.observer.scene();
    const std::string name = survey::find(survey_.stations, station)->name;
    const auto camera = std::find_if(scene.cameras.begin(), scene.cameras.end(),
                                     [&](const auto& c) { return c.name == name; });
    const render::FeatureTruth& t = sample_.truth.features.at(feature);
    std::vector<Vec3> points;
    if (t.kind == FeatureKind::Corner) points = {t.point};
    if (t.kind == FeatureKind::Edge)  // a fit may run a little past its ends
        for (int i = -4; i <= 44; ++i) points.push_back(t.from + (t.to - t.from) * (i / 40.0));
    if (t.kind == FeatureKind::Hole || t.kind == FeatureKind::Arc)
        for (int i = 0; i <= 360; ++i) {
            const double a = i * std::numbers::pi / 180.0;
            points.push_back(t.point + t.radius * Vec3(std::cos(a), std::sin(a), 0));
        }
    std::vector<Vec2> out;
    for (const Vec3& X : points) out.push_back(render::pictureOf(scene, *camera, X));
    return out;
}

}  // namespace trammel::campaign
