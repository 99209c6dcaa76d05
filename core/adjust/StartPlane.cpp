// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartPlane.h"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <Eigen/SVD>
#include <cmath>
#include <map>
#include <numbers>

#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

/// Plan position and image of a feature on the plane.
struct PlanePair {
    Vec2 plan, px;
};

/// Similarity that centres points and brings their mean distance to √2 (Hartley 1997).
Mat3 normaliser(const std::vector<Vec2>& points) {
    Vec2 mean = Vec2::Zero();
    for (const Vec2& p : points) mean += p / static_cast<double>(points.size());
    double spread = 0.0;
    for (const Vec2& p : points) spread += (p - mean).norm() / static_cast<double>(points.size());
    const double s = std::sqrt(2.0) / std::max(spread, 1e-12);
    Mat3 t;
    t << s, 0, -s * mean.x(), 0, s, -s * mean.y(), 0, 0, 1;
    return t;
}

/// Direct linear transform plan → image.
Mat3 homography(const std::vector<PlanePair>& pairs) {
    std::vector<Vec2> plan, px;
    for (const PlanePair& p : pairs) plan.push_back(p.plan), px.push_back(p.px);
    const Mat3 tp = normaliser(plan), ti = normaliser(px);
    MatX A(2 * static_cast<Eigen::Index>(pairs.size()), 9);
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        const Vec3 X = tp * plan[i].homogeneous(), u = ti * px[i].homogeneous();
        const auto r = 2 * static_cast<Eigen::Index>(i);
        A.row(r) << X.transpose(), 0, 0, 0, -u.x() * X.transpose();
        A.row(r + 1) << 0, 0, 0, X.transpose(), -u.y() * X.transpose();
    }
    const Eigen::JacobiSVD<MatX> svd(A, Eigen::ComputeFullV);
    const VecX h = svd.matrixV().col(8);
    Mat3 H;
    H << h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], h[8];
    return ti.inverse() * H * tp;
}

/// Pose from a homography and the given camera; `strain` measures how far its first two columns are from
/// equal length and a right angle (0 for a perfect plane and camera).
bool poseOf(const Mat3& H, const GroupState& g, StationState& s, double& strain) {
    const double c = std::exp(-g.lnKappa);
    Mat3 K = Mat3::Identity();
    K(0, 0) = K(1, 1) = c;
    K.topRightCorner<2, 1>() = g.pp;
    Mat3 M = K.inverse() * H;
    if (M(2, 2) < 0) M = -M;  // the plane's origin lies in front
    const Vec3 a = M.col(0), b = M.col(1);
    const double la = a.norm(), lb = b.norm();
    if (!(la > 0 && lb > 0)) return false;
    strain = std::pow(std::log(la / lb), 2) + std::pow(a.dot(b) / (la * lb), 2);
    Mat3 R;
    R.col(0) = a / la;
    R.col(1) = b / lb;
    R.col(2) = R.col(0).cross(R.col(1));
    s.R = nearestRotation(R);
    const Vec3 t = 2.0 * M.col(2) / (la + lb);
    if (!(t.z() > 0)) return false;
    const double m = c / t.z();
    s.lnScale = std::log(m);
    s.g = g.pp + m * t.head<2>();
    return true;
}

/// The level that carries the most sightings; only its features serve.
int fullestLevel(const Network& n, const std::vector<Sighting>& seen) {
    std::map<int, int> counts;
    int best = -1;
    for (const Sighting& s : seen)
        if (const int l = n.state().features[at(s.feature)].level; l >= 0)
            if (++counts[l]; best < 0 || counts[l] > counts[best]) best = l;
    return best;
}

std::vector<PlanePair> pairsOf(const Network& n, const std::vector<Sighting>& seen, int station, int level,
                               const std::map<int, Vec2>& plan) {
    std::vector<PlanePair> pairs;
    for (const Sighting& s : seen)
        if (s.station == station && n.state().features[at(s.feature)].level == level)
            if (const auto it = plan.find(s.feature); it != plan.end()) pairs.push_back({it->second, s.px});
    return pairs;
}

/// Plan positions of what `station` sees when its axis is tilted by (azimuth, tilt), at unit distance.
std::map<int, Vec2> planFrom(const Network& n, const std::vector<Sighting>& seen, int station, int level,
                             const Mat3& R) {
    std::map<int, Vec2> plan;
    const GroupState& g = n.state().groups[at(n.state().stations[at(station)].group)];
    const double c = std::exp(-g.lnKappa);
    const Vec3 centre = -R.transpose() * Vec3(0, 0, 1);  // plane z = 0 at unit distance along the axis
    for (const Sighting& s : seen) {
        if (s.station != station || n.state().features[at(s.feature)].level != level) continue;
        const Vec3 ray = R.transpose() * Vec3((s.px.x() - g.pp.x()) / c, (s.px.y() - g.pp.y()) / c, 1.0);
        if (!(std::abs(ray.z()) > 1e-6)) continue;
        const double along = -centre.z() / ray.z();
        if (along > 0) plan[s.feature] = (centre + along * ray).head<2>();
    }
    return plan;
}

Mat3 tilted(double azimuth, double tilt) {
    return survey::squareRotation(survey::View::Top) *
           rotationExp(tilt * Vec3(-std::sin(azimuth), std::cos(azimuth), 0));
}

/// Sum of strains of the other stations' homographies for one tilt of the first.
double strainFor(const Network& n, const std::vector<Sighting>& seen, const std::vector<bool>& used,
                 int first, int level, const Mat3& R) {
    const std::map<int, Vec2> plan = planFrom(n, seen, first, level, R);
    double sum = 0.0;
    int counted = 0;
    for (std::size_t s = 0; s < used.size(); ++s) {
        if (!used[s] || static_cast<int>(s) == first) continue;
        const auto pairs = pairsOf(n, seen, static_cast<int>(s), level, plan);
        if (pairs.size() < 4) continue;
        StationState trial = n.state().stations[s];
        double strain = 10.0;
        if (!poseOf(homography(pairs), n.state().groups[at(trial.group)], trial, strain)) strain = 10.0;
        sum += std::min(strain, 10.0);
        ++counted;
    }
    return counted > 0 ? sum / counted : INFINITY;
}

/// Grid, then halving steps about the best tilt.
Mat3 searchTilt(const Network& n, const std::vector<Sighting>& seen, const std::vector<bool>& used, int first,
                int level) {
    double bestStrain = INFINITY, azimuth = 0.0, tilt = 0.0;
    const auto attempt = [&](double a, double t) {
        const double strain = strainFor(n, seen, used, first, level, tilted(a, t));
        if (strain < bestStrain) bestStrain = strain, azimuth = a, tilt = t;
    };
    for (int i = 0; i < 24; ++i)
        for (int k = 0; k <= 9; ++k) attempt(i * std::numbers::pi / 12, k * std::numbers::pi / 24);
    double step = std::numbers::pi / 48;
    for (int round = 0; round < 24; ++round) {
        const double before = bestStrain, a = azimuth, t = tilt;
        const double sideways = step / std::max(0.2, std::sin(t));
        attempt(a + sideways, t);
        attempt(a - sideways, t);
        attempt(a, t + step);
        attempt(a, t - step);
        if (!(bestStrain < before)) step /= 2;
    }
    return tilted(azimuth, tilt);
}

}  // namespace

Result<void> startFromPlane(Network& n, const std::vector<Sighting>& seen, const std::vector<bool>& used,
                            Known& known) {
    State& state = n.state();
    const int level = fullestLevel(n, seen);
    if (level < 0) return {};
    std::map<int, Vec2> plan;
    for (std::size_t f = 0; f < state.features.size(); ++f)
        if (state.features[f].level == level && known.featurePlan[f])
            plan[static_cast<int>(f)] = state.features[f].p.head<2>();
    if (plan.empty()) {
        int first = -1, most = 0;
        std::map<int, int> counts;
        for (const Sighting& s : seen)
            if (state.features[at(s.feature)].level == level && ++counts[s.station] > most)
                most = counts[s.station], first = s.station;
        if (first < 0 || most < 4) return {};
        StationState& s = state.stations[at(first)];
        s.R = searchTilt(n, seen, used, first, level);
        const GroupState& g = state.groups[at(s.group)];
        s.lnScale = -g.lnKappa;  // distance 1
        s.g = g.pp;
        plan = planFrom(n, seen, first, level, s.R);
        known.station[at(first)] = true;
    }
    for (std::size_t s = 0; s < used.size(); ++s) {
        if (!used[s] || known.station[s]) continue;
        const auto pairs = pairsOf(n, seen, static_cast<int>(s), level, plan);
        if (pairs.size() < 4) continue;
        double strain = 0.0;
        StationState& station = state.stations[s];
        // Heights count from the datum level: the plane of a raised level is met by shifting the pose.
        known.station[s] = poseOf(homography(pairs), state.groups[at(station.group)], station, strain);
        if (known.station[s] && state.levels[at(level)] != 0.0) {
            const double kappa = std::exp(state.groups[at(station.group)].lnKappa);
            const Vec3 t = state.pose(station).t - station.R * Vec3(0, 0, state.levels[at(level)]);
            station.lnScale = std::log(1.0 / (kappa * t.z()));
            station.g = state.groups[at(station.group)].pp + std::exp(station.lnScale) * t.head<2>();
        }
    }
    for (const auto& [feature, p] : plan) {
        if (!known.featurePlan[at(feature)]) state.features[at(feature)].p.head<2>() = p;
        known.featurePlan[at(feature)] = true;
        known.featureSpace[at(feature)] = known.level[at(level)];
    }
    return {};
}

}  // namespace trammel::adjust
