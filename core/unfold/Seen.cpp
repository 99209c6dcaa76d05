// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/unfold/Seen.h"

#include <algorithm>
#include <cmath>

namespace trammel::unfold {
namespace {

Vec2 nearestOn(const std::vector<Vec2>& line, bool closed, bool endless, const Vec2& p) {
    if (line.size() == 1) return line.front();
    Vec2 best = line.front();
    const std::size_t pieces = closed ? line.size() : line.size() - 1;
    for (std::size_t i = 0; i < pieces; ++i) {
        const Vec2 a = line[i], ab = line[(i + 1) % line.size()] - a;
        double t = ab.squaredNorm() > 0.0 ? ab.dot(p - a) / ab.squaredNorm() : 0.0;
        if (!endless) t = std::clamp(t, 0.0, 1.0);
        const Vec2 q = a + t * ab;
        if ((q - p).squaredNorm() < (best - p).squaredNorm() || i == 0) best = q;
    }
    return best;
}

}  // namespace

std::optional<Vec2> ontoSheet(const Arrangement& arrangement, View view, double depth,
                              const adjust::StationResult& station, const Vec2& px) {
    const auto ray = camera::rayDirection(station.constants, px + station.offset);
    if (!ray) return std::nullopt;
    const Vec3 direction = station.pose.R.transpose() * *ray;
    const Vec3 centre = station.pose.centre();
    const Vec3 normal = arrangement.unturned(axesOf(view).toViewer);
    constexpr double kGrazing = 0.0175;
    const double across = normal.dot(direction);
    if (std::abs(across) < kGrazing) return std::nullopt;
    const double t = (depth - normal.dot(centre)) / across;
    if (!(t > 0.0)) return std::nullopt;
    return arrangement.toSheet(view, centre + t * direction);
}

std::optional<Vec2> intoPhotograph(const adjust::StationResult& station, const Vec3& part) {
    const auto u = camera::project(station.constants, station.pose, part);
    if (!u) return std::nullopt;
    return Vec2(*u - station.offset);
}

std::vector<Seen> seenOn(const Arrangement& arrangement, const survey::Survey& survey,
                         const adjust::Solution& solution, const Placed& feature, View view,
                         const Id& station) {
    std::vector<Seen> out;
    const auto adjusted = solution.stations.find(station);
    if (adjusted == solution.stations.end() || !arrangement.shows(view) || feature.line.empty()) return out;
    std::vector<Vec2> line;
    for (const Vec3& p : feature.line) line.push_back(arrangement.toSheet(view, p));
    const double depth = arrangement.depthOf(view, feature.point);
    for (const survey::Mark& mark : survey.marks) {
        if (mark.station != station || mark.feature != feature.feature) continue;
        Seen seen{mark.id, station, {}, {}, mark.excluded};
        for (const survey::MarkPoint& p : mark.points) {
            const auto at = ontoSheet(arrangement, view, depth, adjusted->second, p.px);
            if (!at) continue;
            seen.at.push_back(*at);
            seen.adjusted.push_back(
                nearestOn(line, feature.closed, feature.kind == survey::FeatureKind::Edge, *at));
        }
        out.push_back(std::move(seen));
    }
    return out;
}

}  // namespace trammel::unfold
