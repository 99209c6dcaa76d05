// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartShape.h"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <map>

#include "core/adjust/StartKinds.h"

#include "core/adjust/StartHeight.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;

/// An image point back on the plane z, perspective included; false where the plane is seen edge on.
bool backProject(const State& state, const ImagePoint& p, double z, Vec2& xy) {
    const StationState& s = state.stations[at(p.station)];
    const GroupState& g = state.groups[at(s.group)];
    const double m = std::exp(s.lnScale), strength = std::exp(g.lnKappa) * m;
    // (m (R X)_xy + g − pp) = (px − pp)(1 + κ m (R X)_z): two linear equations in x and y.
    const Vec2 q = p.px - g.pp;
    Mat2 A;
    Vec2 b;
    for (int k = 0; k < 2; ++k) {
        for (int c = 0; c < 2; ++c) A(k, c) = m * s.R(k, c) - q[k] * strength * s.R(2, c);
        b[k] = q[k] - (s.g[k] - g.pp[k]) - z * (m * s.R(k, 2) - q[k] * strength * s.R(2, 2));
    }
    if (std::abs(A.determinant()) < 0.08 * m * m) return false;
    xy = A.inverse() * b;
    return true;
}

using Points = std::vector<const ImagePoint*>;

/// What oriented photographs show of each feature.
std::vector<Points> pointsByFeature(const Network& n, const Known& known) {
    std::vector<Points> out(n.state().features.size());
    for (const ImagePoint& p : n.points())
        if (n.owners()[at(p.owner)].active && known.station[at(p.station)]) out[at(p.feature)].push_back(&p);
    return out;
}

void fitLine(FeatureState& f, const std::vector<Vec2>& points) {
    Vec2 mean = Vec2::Zero();
    for (const Vec2& p : points) mean += p / static_cast<double>(points.size());
    Mat2 scatter = Mat2::Zero();
    for (const Vec2& p : points) scatter += (p - mean) * (p - mean).transpose();
    const Eigen::SelfAdjointEigenSolver<Mat2> eigen(scatter);
    const Vec2 u = eigen.eigenvectors().col(1);
    double low = 0.0, high = 0.0;
    for (const Vec2& p : points) {
        low = std::min(low, u.dot(p - mean));
        high = std::max(high, u.dot(p - mean));
    }
    if (high - low < 1e-6) high = low + 1.0;
    f.a = mean + low * u;
    f.b = mean + high * u;
}

void fitCircle(FeatureState& f, const std::vector<Vec2>& points) {
    MatX A(static_cast<Eigen::Index>(points.size()), 3);
    VecX b(A.rows());
    Vec2 mean = Vec2::Zero();
    for (const Vec2& p : points) mean += p / static_cast<double>(points.size());
    for (std::size_t i = 0; i < points.size(); ++i) {
        const Vec2 d = points[i] - mean;
        A.row(static_cast<Eigen::Index>(i)) << 2 * d.x(), 2 * d.y(), 1.0;
        b[static_cast<Eigen::Index>(i)] = d.squaredNorm();
    }
    const Vec3 x = A.colPivHouseholderQr().solve(b);
    f.p.head<2>() = mean + x.head<2>();
    f.r = std::sqrt(std::max(x.z() + x.head<2>().squaredNorm(), 1e-12));
}

/// An edge of a level that its photographs only show edge on: where it lies along the line of sight cannot be
/// seen, or hardly. It starts at the depth of the middle of the part, so that it lies before every camera.
void placeEdgeOn(Network& n, std::size_t i, const Vec2& middle, const Points& points) {
    State& state = n.state();
    FeatureState& f = state.features[i];
    Mat2 normal = 1e-3 * Mat2::Identity();  // towards the middle where nothing else is known
    Vec2 right = 1e-3 * middle, along = Vec2::Zero();
    for (std::size_t s = 0; s < state.stations.size(); ++s) {
        const StationState& station = state.stations[s];
        const Vec2 sideways = station.R.row(0).head<2>().transpose();
        double low = INFINITY, high = -INFINITY;
        for (const ImagePoint* p : points) {
            if (at(p->station) != s) continue;
            const double across =
                (p->px.x() - station.g.x()) / std::exp(station.lnScale) - station.R(0, 2) * state.z(f);
            low = std::min(low, across);
            high = std::max(high, across);
        }
        if (!(high > low)) continue;
        normal += sideways * sideways.transpose();
        right += sideways * (low + high) / 2;
        along += sideways * (high - low);
    }
    if (!(along.norm() > 1e-6)) return;
    const Vec2 centre = normal.inverse() * right;
    f.a = centre - along / 2;
    f.b = centre + along / 2;
}

Vec2 middleOf(const State& state, const Known& known) {
    Vec2 sum = Vec2::Zero();
    int count = 0;
    for (std::size_t i = 0; i < state.features.size(); ++i)
        if (known.featurePlan[i] && state.features[i].kind != FeatureKind::Edge)
            sum += state.features[i].p.head<2>(), ++count;
    return count > 0 ? Vec2(sum / count) : sum;
}

/// The points of the mark that shows most of a free curve, on its level, in their order.
std::vector<Vec2> longestCourse(const Network& n, std::size_t i, const Points& seen) {
    std::map<int, std::vector<Vec2>> byOwner;
    for (const ImagePoint* p : seen) {
        Vec2 xy;
        if (backProject(n.state(), *p, n.state().levels[at(n.state().features[i].level)], xy))
            byOwner[p->owner].push_back(xy);
    }
    std::vector<Vec2> best;
    for (auto& [owner, points] : byOwner)
        if (points.size() > best.size()) best = std::move(points);
    return best;
}

void fitOnLevel(Network& n, std::size_t i, const Points& points, Known& known) {
    FeatureState& f = n.state().features[i];
    std::vector<Vec2> onLevel;
    for (const ImagePoint* p : points) {
        Vec2 xy;
        if (backProject(n.state(), *p, n.state().levels[at(f.level)], xy)) onLevel.push_back(xy);
    }
    const std::size_t least = f.kind == FeatureKind::Corner ? 1 : f.kind == FeatureKind::Edge ? 2 : 3;
    if (f.kind == FeatureKind::Curve) {
        fitCurve(f, longestCourse(n, i, points));
        known.featurePlan[i] = true;
        return;
    }
    if (onLevel.size() < least) return;
    if (f.kind == FeatureKind::Slot) {
        fitSlot(f, onLevel);
        known.featurePlan[i] = true;
        return;
    }
    if (f.kind == FeatureKind::Corner)
        f.p.head<2>() = onLevel.front();
    else if (f.kind == FeatureKind::Edge)
        fitLine(f, onLevel);
    else
        fitCircle(f, onLevel);
    known.featurePlan[i] = true;
}

}  // namespace

void fitOnLevel(Network& n, std::size_t i, Known& known) {
    fitOnLevel(n, i, pointsByFeature(n, known)[i], known);
}

void startShapes(Network& n, Known& known) {
    State& state = n.state();
    const std::vector<Points> points = pointsByFeature(n, known);
    // Twice: heights found from edges in the first round carry the second round's points to their level.
    for (int round = 0; round < 2; ++round) {
        for (std::size_t i = 0; i < state.features.size(); ++i) {
            const bool point = state.features[i].kind == FeatureKind::Corner;
            if (state.features[i].level >= 0 && (!point || !known.featurePlan[i]))
                fitOnLevel(n, i, points[i], known);
        }
        for (std::size_t l = 0; l < state.levels.size(); ++l)
            if (!known.level[l] && heightFromEdges(n, static_cast<int>(l), known, state.levels[l]))
                known.level[l] = true;
    }
    for (std::size_t i = 0; i < state.features.size(); ++i) {
        const FeatureState& f = state.features[i];
        if (f.level >= 0) continue;
        if (f.kind == FeatureKind::Edge)
            known.featurePlan[i] = placeFreeEdge(n, i, points[i]);
        else if (f.kind != FeatureKind::Corner)
            placeFreeCircle(n, i, points[i]);
    }
    const Vec2 middle = middleOf(state, known);
    for (std::size_t i = 0; i < state.features.size(); ++i)
        if (state.features[i].kind == FeatureKind::Edge && state.features[i].level >= 0 &&
            !known.featurePlan[i])
            placeEdgeOn(n, i, middle, points[i]);
}

}  // namespace trammel::adjust
