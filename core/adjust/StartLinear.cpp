// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartLinear.h"

#include <Eigen/LU>
#include <Eigen/SparseCholesky>
#include <cmath>
#include <map>

#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

/// Sparse normal equations gathered row by row, with a whisper of damping that settles what no row touches.
class LinearSystem {
  public:
    explicit LinearSystem(int columns) : diagonal_(columns, 0.0), right_(VecX::Zero(columns)), n_(columns) {}

    void addRow(const std::vector<std::pair<int, double>>& entries, double right, double weight) {
        for (const auto& [ci, vi] : entries) {
            right_[ci] += weight * vi * right;
            diagonal_[at(ci)] += weight * vi * vi;
            for (const auto& [ck, vk] : entries) triplets_.emplace_back(ci, ck, weight * vi * vk);
        }
    }

    VecX solve(const VecX& prior) {
        double mean = 0.0;
        for (const double d : diagonal_) mean += d / n_;
        const double damping = 1e-9 * std::max(mean, 1e-12);
        for (int i = 0; i < n_; ++i) triplets_.emplace_back(i, i, damping);
        Eigen::SparseMatrix<double> N(n_, n_);
        N.setFromTriplets(triplets_.begin(), triplets_.end());
        const Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> factor(N);
        VecX x = factor.solve(right_ + damping * prior);
        x += factor.solve(right_ + damping * prior - N * x);
        return x;
    }

  private:
    std::vector<double> diagonal_;
    VecX right_;
    std::vector<Eigen::Triplet<double>> triplets_;
    int n_;
};

/// Columns of the points, levels and stations that the sightings name.
struct Plan {
    std::map<int, int> station, point, level;
    int columns = 0;

    void addPoint(const Hypothesis& h, int index) {
        const StartPoint& p = h.points.points[at(index)];
        if (point.emplace(index, columns).second) columns += p.level < 0 ? 3 : 2;
        if (p.level >= 0 && p.level != h.zeroLevel && level.emplace(p.level, columns).second) columns += 1;
    }
    /// Coefficients of row · X.
    std::vector<std::pair<int, double>> row(const Hypothesis& h, int index, const Vec3& r) const {
        const StartPoint& p = h.points.points[at(index)];
        const int c = point.at(index);
        std::vector<std::pair<int, double>> out = {{c, r.x()}, {c + 1, r.y()}};
        if (p.level < 0)
            out.emplace_back(c + 2, r.z());
        else if (const auto it = level.find(p.level); it != level.end())
            out.emplace_back(it->second, r.z());
        return out;
    }
    void store(Hypothesis& h, const VecX& x) const {
        for (const auto& [index, c] : point) {
            StartPoint& p = h.points.points[at(index)];
            p.p.head<2>() = x.segment<2>(c);
            if (p.level < 0) p.p.z() = x[c + 2];
        }
        for (const auto& [index, c] : level) h.state.levels[at(index)] = x[c];
    }
};

/// Principal views that hang together with the anchor by enough shared points: four unknowns each, and the
/// few steps that follow let them tilt.
std::vector<bool> together(const Hypothesis& h, const std::vector<bool>& principal, int anchor) {
    constexpr int kShared = 4;
    std::vector<bool> in(principal.size(), false), point(h.points.points.size(), false);
    in[at(anchor)] = true;
    for (bool progress = true; progress;) {
        progress = false;
        for (const Sighting& s : h.points.seen)
            if (in[at(s.station)]) point[at(s.point)] = true;
        std::vector<int> shared(principal.size(), 0);
        for (const Sighting& s : h.points.seen)
            if (point[at(s.point)]) ++shared[at(s.station)];
        for (std::size_t s = 0; s < in.size(); ++s)
            if (principal[s] && !in[s] && shared[s] >= kShared) in[s] = progress = true;
    }
    return in;
}

/// What the known photographs tell of one point: sum of rᵀ r over the image axes r (part's frame).
std::vector<Mat3> information(const Hypothesis& h) {
    std::vector<Mat3> N(h.points.points.size(), Mat3::Zero());
    for (const Sighting& s : h.points.seen) {
        if (!h.known.station[at(s.station)]) continue;
        const Mat3& R = h.state.stations[at(s.station)].R;
        N[at(s.point)] += R.row(0).transpose() * R.row(0) + R.row(1).transpose() * R.row(1);
    }
    return N;
}

/// A level is held when its points are seen from two directions, or from the side; a point in plan when its
/// level is held and it is not only seen along the level, or when it is seen nearly from above.
void judgeKnown(Hypothesis& h) {
    constexpr double kHeld = 0.01, kPlanHeld = 0.03;
    const std::vector<Mat3> N = information(h);
    std::vector<double> height(h.state.levels.size(), 0.0);
    const auto byHeight = [&N](std::size_t i) {
        const Mat2 plan = N[i].topLeftCorner<2, 2>() + 1e-3 * Mat2::Identity();
        const Vec2 mixed = N[i].topRightCorner<2, 1>();
        return N[i](2, 2) - mixed.dot(plan.inverse() * mixed);
    };
    const auto planHeld = [&N](std::size_t i) {
        const Mat2 plan = N[i].topLeftCorner<2, 2>();
        return plan.determinant() > kPlanHeld * std::max(plan.trace(), 1e-9);
    };
    for (std::size_t i = 0; i < N.size(); ++i)
        if (const int l = h.points.points[i].level; l >= 0) height[at(l)] += byHeight(i);
    for (std::size_t l = 0; l < height.size(); ++l) h.known.level[l] = height[l] > kHeld;
    h.known.level[at(h.zeroLevel)] = true;
    for (std::size_t i = 0; i < N.size(); ++i) {
        StartPoint& p = h.points.points[i];
        const bool high = p.level < 0 ? byHeight(i) > kHeld : h.known.level[at(p.level)];
        const bool fromAbove = N[i].trace() > 0 && N[i](2, 2) < 0.15 * N[i].trace() / 2;
        p.plan = planHeld(i) && (high || fromAbove);
        p.space = p.plan && high;
    }
}

}  // namespace

void startPrincipal(Hypothesis& h, const std::vector<bool>& principal, int anchor) {
    const std::vector<bool> in = together(h, principal, anchor);
    Plan plan;
    for (const Sighting& s : h.points.seen) {
        if (!in[at(s.station)]) continue;
        plan.addPoint(h, s.point);
        if (plan.station.emplace(s.station, plan.columns).second) plan.columns += 4;  // a, b, offsets
    }
    if (plan.columns == 0) return;
    constexpr double kUnit = 1e-3;  // px into thousands: all unknowns of one size
    LinearSystem system(plan.columns);
    VecX prior = VecX::Zero(plan.columns);
    for (const auto& [station, column] : plan.station) prior[column] = 1.0;
    for (const Sighting& s : h.points.seen) {
        if (!in[at(s.station)]) continue;
        const Vec2 p = s.px * kUnit;
        const int sc = plan.station.at(s.station);
        for (int k = 0; k < 2; ++k) {
            // camera-plane coordinate: a p ∓ b p' − offset = (R X)_k
            auto row = plan.row(h, s.point, h.state.stations[at(s.station)].R.row(k));
            const double byA = k == 0 ? p.x() : p.y(), byB = k == 0 ? -p.y() : p.x();
            if (s.station != anchor) row.emplace_back(sc, -byA);
            row.emplace_back(sc + 1, -byB);
            row.emplace_back(sc + 2 + k, 1.0);
            system.addRow(row, s.station == anchor ? byA : 0.0, 1.0 / (s.sigma * s.sigma));
        }
    }
    const VecX x = system.solve(prior);
    for (const auto& [station, c] : plan.station) {
        StationState& st = h.state.stations[at(station)];
        const double a = station == anchor ? 1.0 : x[c], b = x[c + 1];
        const double size = std::hypot(a, b), roll = std::atan2(b, a);
        // (a, b) turns the picture into camera-plane axes; the camera itself is turned the other way.
        const Mat3 turn = rotationExp(Vec3(0, 0, -roll));
        st.R = turn * st.R;
        st.lnScale = -std::log(std::max(size, 1e-9) * kUnit);
        st.g = std::exp(st.lnScale) * (turn.topLeftCorner<2, 2>() * Vec2(x[c + 2], x[c + 3]));
        h.known.station[at(station)] = true;
    }
    plan.store(h, x);
    judgeKnown(h);
}

void placePoints(Hypothesis& h) {
    Plan plan;
    for (const Sighting& s : h.points.seen)
        if (h.known.station[at(s.station)]) plan.addPoint(h, s.point);
    if (plan.columns == 0) return;
    LinearSystem system(plan.columns);
    VecX prior = VecX::Zero(plan.columns);
    for (const auto& [index, c] : plan.point) prior.segment<2>(c) = h.points.points[at(index)].p.head<2>();
    for (const auto& [index, c] : plan.level) prior[c] = h.state.levels[at(index)];
    for (const Sighting& s : h.points.seen) {
        if (!h.known.station[at(s.station)]) continue;
        const StationState& st = h.state.stations[at(s.station)];
        const GroupState& g = h.state.groups[at(st.group)];
        const double m = std::exp(st.lnScale), strength = std::exp(g.lnKappa) * m;
        // (px − pp)(1 + κ m (R X)_z) = m (R X)_xy + g − pp
        const Vec2 q = s.px - g.pp;
        for (int k = 0; k < 2; ++k) {
            const Vec3 r = st.R.row(k).transpose() - q[k] * strength / m * st.R.row(2).transpose();
            system.addRow(plan.row(h, s.point, r), (q[k] - st.g[k] + g.pp[k]) / m, 1.0 / (s.sigma * s.sigma));
        }
    }
    plan.store(h, system.solve(prior));
    judgeKnown(h);
}

}  // namespace trammel::adjust
