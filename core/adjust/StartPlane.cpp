// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartPlane.h"

#include <Eigen/Eigenvalues>
#include <Eigen/Geometry>
#include <Eigen/LU>
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
    // Start values only: the smallest eigenvector of AᵀA, summed row by row.
    Eigen::Matrix<double, 9, 9> N = Eigen::Matrix<double, 9, 9>::Zero();
    Eigen::Matrix<double, 9, 1> row;
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        const Vec3 X = tp * plan[i].homogeneous(), u = ti * px[i].homogeneous();
        row << X, 0, 0, 0, -u.x() * X;
        N += row * row.transpose();
        row << 0, 0, 0, X, -u.y() * X;
        N += row * row.transpose();
    }
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, 9, 9>> eigen(N);
    const VecX h = eigen.eigenvectors().col(0);
    Mat3 H;
    H << h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], h[8];
    return ti.inverse() * H * tp;
}

/// How far the first two columns of a homography, the camera taken off, are from equal length and a right
/// angle (0 for a perfect plane and camera). False when the plane would lie behind the camera.
bool strainOf(const Mat3& H, const GroupState& g, double& strain) {
    const double c = std::exp(-g.lnKappa);
    Mat3 K = Mat3::Identity();
    K(0, 0) = K(1, 1) = c;
    K.topRightCorner<2, 1>() = g.pp;
    Mat3 M = K.inverse() * H;
    if (M(2, 2) < 0) M = -M;  // the plane's origin lies in front
    const Vec3 a = M.col(0), b = M.col(1);
    const double la = a.norm(), lb = b.norm();
    if (!(la > 0 && lb > 0 && M(2, 2) > 0)) return false;
    strain = std::pow(std::log(la / lb), 2) + std::pow(a.dot(b) / (la * lb), 2);
    return true;
}

/// The level that carries the most sightings.
int fullestLevel(const Hypothesis& h) {
    std::map<int, int> counts;
    int best = -1;
    for (const Sighting& s : h.points.seen)
        if (const int l = h.points.points[at(s.point)].level; l >= 0)
            if (++counts[l]; best < 0 || counts[l] > counts[best]) best = l;
    return best;
}

std::vector<PlanePair> pairsOf(const Hypothesis& h, int station, const std::map<int, Vec2>& plan) {
    std::vector<PlanePair> pairs;
    for (const Sighting& s : h.points.seen)
        if (s.station == station)
            if (const auto it = plan.find(s.point); it != plan.end()) pairs.push_back({it->second, s.px});
    return pairs;
}

/// Plan positions of what `station` sees when its axis is tilted by (azimuth, tilt), at unit distance.
std::map<int, Vec2> planFrom(const Hypothesis& h, int station, int level, const Mat3& R) {
    std::map<int, Vec2> plan;
    const GroupState& g = h.state.groups[at(h.state.stations[at(station)].group)];
    const double c = std::exp(-g.lnKappa);
    const Vec3 centre = -R.transpose() * Vec3(0, 0, 1);  // plane z = 0 at unit distance along the axis
    for (const Sighting& s : h.points.seen) {
        if (s.station != station || h.points.points[at(s.point)].level != level) continue;
        const Vec3 ray = R.transpose() * Vec3((s.px.x() - g.pp.x()) / c, (s.px.y() - g.pp.y()) / c, 1.0);
        if (!(std::abs(ray.z()) > 1e-6)) continue;
        const double along = -centre.z() / ray.z();
        if (along > 0) plan[s.point] = (centre + along * ray).head<2>();
    }
    return plan;
}

Mat3 tilted(double azimuth, double tilt) {
    return survey::squareRotation(survey::View::Top) *
           rotationExp(tilt * Vec3(-std::sin(azimuth), std::cos(azimuth), 0));
}

/// Sum of strains of the other stations' homographies for one tilt of the first.
double strainFor(const Hypothesis& h, const std::vector<bool>& used, int first, int level, const Mat3& R) {
    const std::map<int, Vec2> plan = planFrom(h, first, level, R);
    double sum = 0.0;
    int counted = 0;
    for (std::size_t s = 0; s < used.size(); ++s) {
        if (!used[s] || static_cast<int>(s) == first) continue;
        const auto pairs = pairsOf(h, static_cast<int>(s), plan);
        if (pairs.size() < 4) continue;
        double strain = 10.0;
        if (!strainOf(homography(pairs), h.state.groups[at(h.state.stations[s].group)], strain))
            strain = 10.0;
        sum += std::min(strain, 10.0);
        ++counted;
    }
    return counted > 0 ? sum / counted : INFINITY;
}

/// Grid, then halving steps about the best tilt.
Mat3 searchTilt(const Hypothesis& h, const std::vector<bool>& used, int first, int level) {
    double bestStrain = INFINITY, azimuth = 0.0, tilt = 0.0;
    const auto attempt = [&](double a, double t) {
        const double strain = strainFor(h, used, first, level, tilted(a, t));
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

bool startFromPlane(Hypothesis& h, const std::vector<bool>& used) {
    const int level = fullestLevel(h);
    if (level < 0) return false;
    int first = -1, most = 0;
    std::map<int, int> counts;
    for (const Sighting& s : h.points.seen)
        if (h.points.points[at(s.point)].level == level && ++counts[s.station] > most)
            most = counts[s.station], first = s.station;
    if (most < 4) return false;
    StationState& s = h.state.stations[at(first)];
    s.R = searchTilt(h, used, first, level);
    const GroupState& g = h.state.groups[at(s.group)];
    s.lnScale = -g.lnKappa;  // distance 1
    s.g = g.pp;
    h.zeroLevel = level;
    h.known.level.assign(h.known.level.size(), false);
    h.known.level[at(level)] = h.known.station[at(first)] = true;
    for (const auto& [point, p] : planFrom(h, first, level, s.R)) {
        h.points.points[at(point)].p.head<2>() = p;
        h.points.points[at(point)].plan = h.points.points[at(point)].space = true;
    }
    return true;
}

}  // namespace trammel::adjust
