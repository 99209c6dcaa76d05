// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartHeight.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <limits>

namespace trammel::adjust {
namespace {

/// A mark's line of sight where it meets the plane z: at + z · by; or, where the plane is seen from the side,
/// the mark itself.
struct Ray {
    Vec2 at = Vec2::Zero(), by = Vec2::Zero();
};
struct SideMark {
    const StationState* station = nullptr;
    const GroupState* group = nullptr;
    Vec2 px = Vec2::Zero();
};
struct EdgeRays {
    std::vector<Ray> rays;
    std::vector<SideMark> sides;
    int photographs = 0;
};

/// (m (R X)_xy + g − pp) = (px − pp)(1 + κ m (R X)_z) solved for x and y.
bool rayOf(const State& state, const ImagePoint& p, Ray& ray) {
    const StationState& s = state.stations[at(p.station)];
    const GroupState& g = state.groups[at(s.group)];
    const double m = std::exp(s.lnScale), strength = std::exp(g.lnKappa) * m;
    const Vec2 q = p.px - g.pp;
    Mat2 A;
    Vec2 b, byZ;
    for (int k = 0; k < 2; ++k) {
        for (int c = 0; c < 2; ++c) A(k, c) = m * s.R(k, c) - q[k] * strength * s.R(2, c);
        b[k] = q[k] - (s.g[k] - g.pp[k]);
        byZ[k] = -(m * s.R(k, 2) - q[k] * strength * s.R(2, 2));
    }
    if (std::abs(A.determinant()) < 0.08 * m * m) return false;
    const Mat2 inverse = A.inverse();
    ray = {inverse * b, inverse * byZ};
    return true;
}

std::vector<EdgeRays> gather(const Network& n, int level, const Known& known) {
    const State& state = n.state();
    std::vector<EdgeRays> edges(state.features.size());
    std::vector<int> last(state.features.size(), -1);
    for (const ImagePoint& p : n.points()) {
        const FeatureState& f = state.features[at(p.feature)];
        if (f.kind != survey::FeatureKind::Edge || f.level != level || !known.station[at(p.station)] ||
            !n.owners()[at(p.owner)].active)
            continue;
        EdgeRays& e = edges[at(p.feature)];
        if (Ray ray; rayOf(state, p, ray)) {
            e.rays.push_back(ray);
        } else {
            const StationState& s = state.stations[at(p.station)];
            e.sides.push_back({&s, &state.groups[at(s.group)], p.px});
        }
        if (last[at(p.feature)] != p.station) ++e.photographs;
        last[at(p.feature)] = p.station;
    }
    std::erase_if(edges, [](const EdgeRays& e) { return e.photographs < 2 || e.rays.size() < 2; });
    return edges;
}

/// Squared misses (mm²) of one edge's marks when its level lies at z.
double missOf(const EdgeRays& e, double z) {
    Vec2 mean = Vec2::Zero();
    for (const Ray& r : e.rays) mean += (r.at + z * r.by) / static_cast<double>(e.rays.size());
    double xx = 0.0, xy = 0.0, yy = 0.0;
    for (const Ray& r : e.rays) {
        const Vec2 d = r.at + z * r.by - mean;
        xx += d.x() * d.x(), xy += d.x() * d.y(), yy += d.y() * d.y();
    }
    double miss = (xx + yy) / 2 - std::hypot((xx - yy) / 2, xy);  // the smaller eigenvalue
    const double angle = 0.5 * std::atan2(2 * xy, xx - yy);
    const Vec3 X(mean.x(), mean.y(), z), along(std::cos(angle), std::sin(angle), 0.0);
    for (const SideMark& s : e.sides) {
        const double m = std::exp(s.station->lnScale);
        const Vec3 q = s.station->R * X;
        const Vec2 image =
            (m * q.head<2>() + s.station->g - s.group->pp) / (1 + std::exp(s.group->lnKappa) * m * q.z()) +
            s.group->pp;
        const Vec2 t = (s.station->R * along).head<2>();
        if (t.norm() < 0.05) continue;
        miss += std::pow(Vec2(-t.y(), t.x()).normalized().dot(s.px - image) / m, 2);
    }
    return miss;
}

double sizeOf(const State& state, const Known& known) {
    double size = 0.0;
    for (std::size_t i = 0; i < state.features.size(); ++i)
        if (known.featurePlan[i])
            size = std::max({size, state.features[i].p.norm(), state.features[i].a.norm()});
    return size;
}

}  // namespace

bool heightFromEdges(const Network& n, int level, const Known& known, double& z) {
    const std::vector<EdgeRays> edges = gather(n, level, known);
    const double size = 1.5 * sizeOf(n.state(), known);
    if (edges.empty() || !(size > 0)) return false;
    const auto miss = [&edges](double height) {
        double sum = 0.0;
        for (const EdgeRays& e : edges) sum += missOf(e, height);
        return sum;
    };
    constexpr int kSteps = 60;
    double best = 0.0, least = std::numeric_limits<double>::infinity();
    for (int i = -kSteps; i <= kSteps; ++i) {
        const double height = size * i / kSteps, value = miss(height);
        if (value < least) least = value, best = height;
    }
    for (double step = size / kSteps; step > 1e-5 * size; step /= 2)
        for (const double height : {best - step, best + step})
            if (const double value = miss(height); value < least) least = value, best = height;
    z = best;
    return true;
}

}  // namespace trammel::adjust
