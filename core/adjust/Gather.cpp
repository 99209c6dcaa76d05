// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Gather.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/adjust/NetworkConstants.h"
#include "core/adjust/Shape.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;

/// The marked part of a rim: all angles but the widest gap between neighbours.
void rimSpan(std::vector<double> angles, const FeatureState& f, FeatureGeometry& out) {
    constexpr double kTurn = 2 * std::numbers::pi;
    for (double& a : angles) a -= kTurn * std::floor(a / kTurn);
    std::sort(angles.begin(), angles.end());
    double widest = -1.0, from = 0.0, to = 0.0;
    for (std::size_t i = 0; i < angles.size(); ++i) {
        const double next = i + 1 < angles.size() ? angles[i + 1] : angles.front() + kTurn;
        if (next - angles[i] > widest) widest = next - angles[i], from = next, to = angles[i];
    }
    const auto point = [&](double a) { return Vec2(f.p.head<2>() + f.r * Vec2(std::cos(a), std::sin(a))); };
    out.spanFrom = point(from);
    out.spanTo = point(to);
}

/// Points along a slot or curve, close enough to draw.
void course(const State& state, const FeatureState& f, FeatureGeometry& g) {
    const bool slot = f.kind == FeatureKind::Slot, curve = f.kind == FeatureKind::Curve;
    const auto nodes = static_cast<double>(f.nodes.size());
    const double last = slot    ? 2 * ((f.b - f.a).norm() + std::numbers::pi * std::abs(f.r))
                        : curve ? (f.closed ? nodes : nodes - 1)
                                : 2 * std::numbers::pi;
    const int steps = curve ? 8 * static_cast<int>(last) : 96;
    for (int i = 0; i <= steps; ++i) g.course.push_back(curveAt(state, f, last * i / steps).X);
}

FeatureGeometry geometryOf(const Network& n, std::size_t i) {
    const FeatureState& f = n.state().features[i];
    FeatureGeometry g;
    g.kind = f.kind;
    if (f.kind == FeatureKind::Edge) {
        g.direction = (f.b - f.a).normalized();
        g.point = n.state().point(f);
        g.spanFrom = f.a;
        g.spanTo = f.b;
        g.slope = edgeEnd(n.state(), f).z() - edgeStart(n.state(), f).z();
        return g;
    }
    g.point = n.state().point(f);
    if (f.kind == FeatureKind::Corner) return g;
    if (f.kind == FeatureKind::Curve) {
        g.closed = f.closed;
        course(n.state(), f, g);
        return g;
    }
    g.radius = std::abs(f.r);
    if (f.kind == FeatureKind::Slot) {
        g.spanFrom = f.a;
        g.spanTo = f.b;
        g.direction = (f.b - f.a).normalized();
        course(n.state(), f, g);
        return g;
    }
    if (f.level < 0) {
        g.normal = f.normal;
        course(n.state(), f, g);
    }
    std::vector<double> angles;
    for (std::size_t p = 0; p < n.points().size(); ++p)
        if (at(n.points()[p].feature) == i && std::isfinite(n.feet()[p])) angles.push_back(n.feet()[p]);
    if (!angles.empty()) rimSpan(std::move(angles), f, g);
    return g;
}

}  // namespace

void gatherGeometry(const Network& n, Solution& out) {
    const survey::Survey& s = n.survey();
    const InUse used = n.inUse();
    for (std::size_t i = 0; i < s.features.size(); ++i)
        if (used.features[i]) out.features[s.features[i].id] = geometryOf(n, i);
    for (std::size_t i = 0; i < s.levels.size(); ++i)
        if (static_cast<int>(i) == n.datumLevel() || n.columns().levels[i] >= 0)
            out.levels[s.levels[i].id] = n.state().levels[i];
    for (std::size_t i = 0; i < s.groups.size(); ++i)
        out.groups[s.groups[i].id] = n.state().groups[i].constants();
    for (std::size_t i = 0; i < s.stations.size(); ++i) {
        if (!used.stations[i]) continue;
        const StationState& st = n.state().stations[i];
        StationResult r;
        r.pose = n.state().pose(st);
        r.constants = n.state().groups[at(st.group)].constants();
        r.standOff_mm = r.pose.t.norm();
        r.scale_px_per_mm = std::exp(st.lnScale);
        r.offset = firstOffset(s.stations[i].photo) + st.crop;
        out.stations[s.stations[i].id] = r;
    }
}

}  // namespace trammel::adjust
