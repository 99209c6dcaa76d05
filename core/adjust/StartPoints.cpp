// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartPoints.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace trammel::adjust {
namespace {

using survey::FeatureKind;

/// Image of an edge in one photograph: middle, direction, half of what is marked.
struct ImageLine {
    Vec2 middle = Vec2::Zero(), along = Vec2::UnitX();
    double half = 0.0, sigma = 1.0;
};

using Marked = std::map<std::pair<int, int>, std::vector<Vec2>>;  ///< by station and feature

Vec2 meanOf(const std::vector<Vec2>& points) {
    Vec2 mean = Vec2::Zero();
    for (const Vec2& p : points) mean += p / static_cast<double>(points.size());
    return mean;
}

double extentOf(const std::vector<Vec2>& points, const Vec2& middle) {
    double extent = 0.0;
    for (const Vec2& p : points) extent = std::max(extent, (p - middle).norm());
    return extent;
}

ImageLine lineOf(const std::vector<Vec2>& points) {
    ImageLine line;
    line.middle = meanOf(points);
    double xx = 0.0, xy = 0.0, yy = 0.0;
    for (const Vec2& p : points) {
        const Vec2 d = p - line.middle;
        xx += d.x() * d.x(), xy += d.x() * d.y(), yy += d.y() * d.y();
    }
    const double angle = 0.5 * std::atan2(2 * xy, xx - yy);
    line.along = {std::cos(angle), std::sin(angle)};
    line.half = extentOf(points, line.middle);
    return line;
}

/// Where two lines meet, unless that lies far beyond what is marked or the lines are nearly parallel.
bool meet(const ImageLine& a, const ImageLine& b, Vec2& px) {
    const double cross = a.along.x() * b.along.y() - a.along.y() * b.along.x();
    if (std::abs(cross) < 0.25) return false;
    const Vec2 d = b.middle - a.middle;
    const double ta = (d.x() * b.along.y() - d.y() * b.along.x()) / cross;
    const double tb = (d.x() * a.along.y() - d.y() * a.along.x()) / cross;
    px = a.middle + ta * a.along;
    return std::abs(ta) < 2.5 * a.half && std::abs(tb) < 2.5 * b.half;
}

Marked markedPoints(const Network& n) {
    Marked marked;
    for (const ImagePoint& p : n.points()) {
        if (!n.owners()[at(p.owner)].active) continue;
        const camera::Constants k = n.state().groups[at(n.state().stations[at(p.station)].group)].constants();
        Vec2 px = p.px;
        if (k.k1 != 0 || k.k2 != 0 || k.k3 != 0 || k.p1 != 0 || k.p2 != 0)
            if (const auto ideal = camera::undistort(k, p.px)) px = k.c * *ideal + k.pp;
        marked[{p.station, p.feature}].push_back(px);
    }
    return marked;
}

void addPoints(const Network& n, const Marked& marked, StartPoints& out) {
    std::map<int, int> pointOf;
    for (const auto& [key, px] : marked) {
        const FeatureState& f = n.state().features[at(key.second)];
        const bool corner = f.kind == FeatureKind::Corner, hole = f.kind == FeatureKind::Hole;
        if (!corner && !(hole && px.size() >= 3)) continue;
        const auto [it, fresh] = pointOf.emplace(key.second, static_cast<int>(out.points.size()));
        if (fresh) out.points.push_back({key.second, f.level, Vec3::Zero(), false, false});
        const Vec2 middle = meanOf(px);
        const double sigma = corner ? 1.0 : 1.0 + 0.03 * extentOf(px, middle);
        out.seen.push_back({key.first, it->second, middle, sigma});
    }
}

bool fewPointsSomewhere(const Network& n, const StartPoints& points) {
    constexpr int kEnough = 8;
    std::vector<int> count(n.state().stations.size(), 0);
    for (const Sighting& s : points.seen) ++count[at(s.station)];
    const std::vector<bool> used = n.inUse().stations;
    for (std::size_t s = 0; s < count.size(); ++s)
        if (used[s] && count[s] < kEnough) return true;
    return false;
}

void addMeetings(const Network& n, const Marked& marked, StartPoints& out) {
    std::map<std::pair<int, int>, std::vector<std::pair<int, ImageLine>>> lines;  // by station and level
    for (const auto& [key, px] : marked) {
        const FeatureState& f = n.state().features[at(key.second)];
        if (f.kind == FeatureKind::Edge && f.level >= 0 && px.size() >= 2)
            lines[{key.first, f.level}].emplace_back(key.second, lineOf(px));
    }
    constexpr std::size_t kMostEdges = 40;
    std::map<std::pair<int, int>, std::vector<std::pair<int, Vec2>>> meetings;  // by the two edges
    for (const auto& [key, edges] : lines) {
        const std::size_t count = std::min(edges.size(), kMostEdges);
        for (std::size_t i = 0; i < count; ++i)
            for (std::size_t k = i + 1; k < count; ++k)
                if (Vec2 px; meet(edges[i].second, edges[k].second, px))
                    meetings[{edges[i].first, edges[k].first}].emplace_back(key.first, px);
    }
    for (const auto& [edges, seen] : meetings) {
        if (seen.size() < 2) continue;
        for (const auto& [station, px] : seen)
            out.seen.push_back({station, static_cast<int>(out.points.size()), px, 3.0});
        out.points.push_back({-1, n.state().features[at(edges.first)].level, Vec3::Zero(), false, false});
    }
}

}  // namespace

StartPoints collectPoints(const Network& n) {
    const Marked marked = markedPoints(n);
    StartPoints out;
    addPoints(n, marked, out);
    if (fewPointsSomewhere(n, out)) addMeetings(n, marked, out);
    return out;
}

}  // namespace trammel::adjust
