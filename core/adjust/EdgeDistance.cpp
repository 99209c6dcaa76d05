// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/EdgeDistance.h"

#include <algorithm>

namespace trammel::adjust {

Vec3 addPlanDistance(GradientBuilder& b, int edge, const Vec3& P, double share) {
    const FeatureState& e = b.feature(edge);
    const Vec2 along = e.b - e.a;
    const double length = along.norm();
    const Vec2 u = along / length;
    const Vec3 n(-u.y(), u.x(), 0.0);
    const double tau = u.dot(P.head<2>() - e.a) / length;
    b.out.value += share * n.head<2>().dot(P.head<2>() - e.a);
    b.addAt(edge, tau, -share * n);
    return share * n;
}

Vec3 addDistance(GradientBuilder& b, int edge, const Vec3& P, double share, bool inSpace) {
    const FeatureState& e = b.feature(edge);
    if (!inSpace) {
        const Vec2 along = e.b - e.a, d = P.head<2>() - e.a;
        const double side = along.x() * d.y() - along.y() * d.x() < 0 ? -1.0 : 1.0;
        return addPlanDistance(b, edge, P, side * share);
    }
    const Vec3 a = edgeStart(b.state(), e), along = edgeEnd(b.state(), e) - a;
    const double length = along.norm();
    const Vec3 u = along / length, across = P - a - u * u.dot(P - a);
    const double distance = across.norm();
    const Vec3 away = distance > 0 ? Vec3(across / distance) : Vec3::Zero();
    b.out.value += share * distance;
    b.addAt(edge, u.dot(P - a) / length, -share * away);
    return share * away;
}

EdgeDirection::EdgeDirection(const State& state, const FeatureState& e, bool inSpace) {
    Vec3 d = edgeEnd(state, e) - edgeStart(state, e);
    if (!inSpace) d.z() = 0.0;
    length = std::max(d.norm(), 1e-12);
    unit = d / length;
}

void addDirection(GradientBuilder& b, int edge, const EdgeDirection& along, const Vec3& d) {
    const Vec3 across = (d - along.unit * along.unit.dot(d)) / along.length;
    b.addAt(edge, 1.0, across);
    b.addAt(edge, 0.0, -across);
}

}  // namespace trammel::adjust
