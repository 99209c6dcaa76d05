// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/StartLinear.h"

#include <Eigen/SparseCholesky>
#include <cmath>
#include <map>

#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;

/// Sparse normal equations gathered row by row, with a whisper of damping that settles what no row touches.
class LinearSystem {
  public:
    explicit LinearSystem(int columns) : diagonal_(columns, 0.0), right_(VecX::Zero(columns)), n_(columns) {}

    void addRow(const std::vector<std::pair<int, double>>& entries, double right) {
        for (const auto& [ci, vi] : entries) {
            right_[ci] += vi * right;
            diagonal_[at(ci)] += vi * vi;
            for (const auto& [ck, vk] : entries) triplets_.emplace_back(ci, ck, vi * vk);
        }
    }
    bool touched(int column) const { return diagonal_[at(column)] > 1e-9; }

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

/// Columns of the start's linear system.
struct Plan {
    std::map<int, int> station, feature, level;  ///< first column of each
    int columns = 0;
    int anchor = -1;  ///< the unknown station whose scale and roll are held at 1 and 0
};

Plan layPlan(const Network& n, const std::vector<Sighting>& seen, const std::vector<bool>& unknownStations) {
    Plan plan;
    bool anyKnown = false;
    for (const Sighting& s : seen) {
        const FeatureState& f = n.state().features[at(s.feature)];
        if (plan.feature.emplace(s.feature, plan.columns).second) plan.columns += f.level < 0 ? 3 : 2;
        if (f.level >= 0 && f.level != n.datumLevel() && plan.level.emplace(f.level, plan.columns).second)
            plan.columns += 1;
        if (!unknownStations[at(s.station)])
            anyKnown = true;
        else if (plan.station.emplace(s.station, plan.columns).second)
            plan.columns += 4;  // a, b, offset right, offset down
    }
    if (!anyKnown) {  // hold the scale of the station that sees most
        std::map<int, int> counts;
        for (const Sighting& s : seen)
            if (const int c = ++counts[s.station]; plan.anchor < 0 || c > counts[plan.anchor])
                plan.anchor = s.station;
    }
    return plan;
}

}  // namespace

std::vector<Sighting> sightings(const Network& n) {
    std::map<std::pair<int, int>, std::vector<Vec2>> groups;
    for (const ImagePoint& p : n.points())
        if (n.owners()[at(p.owner)].active) groups[{p.station, p.feature}].push_back(p.px);
    std::vector<Sighting> out;
    for (const auto& [key, points] : groups) {
        const FeatureKind kind = n.state().features[at(key.second)].kind;
        if (kind != FeatureKind::Corner && (kind != FeatureKind::Hole || points.size() < 3)) continue;
        Vec2 mean = Vec2::Zero();
        for (const Vec2& p : points) mean += p / static_cast<double>(points.size());
        out.push_back({key.first, key.second, mean});
    }
    return out;
}

void solveLinear(Network& network, const std::vector<Sighting>& seen,
                 const std::vector<bool>& unknownStations, Known& known) {
    if (seen.empty()) return;
    State& state = network.state();
    const Plan plan = layPlan(network, seen, unknownStations);
    constexpr double kUnit = 1e-3;  // px into thousands: all unknowns of one size
    LinearSystem system(plan.columns);
    VecX prior = VecX::Zero(plan.columns);
    for (const auto& [station, column] : plan.station) prior[column] = 1.0;
    for (const Sighting& s : seen) {
        const StationState& st = state.stations[at(s.station)];
        const FeatureState& f = state.features[at(s.feature)];
        const bool unknown = unknownStations[at(s.station)];
        const Vec2 p = s.px * kUnit;
        const double m = std::exp(st.lnScale);
        for (int k = 0; k < 2; ++k) {
            // camera-plane coordinate: a p ∓ b p' − h = (R X)_k, or with the station known (px − g)/m = (R
            // X)_k
            std::vector<std::pair<int, double>> row;
            double right = 0.0;
            const int fc = plan.feature.at(s.feature);
            row.emplace_back(fc, st.R(k, 0));
            row.emplace_back(fc + 1, st.R(k, 1));
            if (f.level < 0)
                row.emplace_back(fc + 2, st.R(k, 2));
            else if (f.level != network.datumLevel())
                row.emplace_back(plan.level.at(f.level), st.R(k, 2));
            if (!unknown) {
                right = (s.px[k] - st.g[k]) / m;
            } else {
                const int sc = plan.station.at(s.station);
                const double byA = k == 0 ? p.x() : p.y(), byB = k == 0 ? -p.y() : p.x();
                if (s.station == plan.anchor) {
                    right = byA;
                } else {
                    row.emplace_back(sc, -byA);
                    row.emplace_back(sc + 1, -byB);
                }
                row.emplace_back(sc + 2 + k, 1.0);
            }
            system.addRow(row, right);
        }
    }
    const VecX x = system.solve(prior);
    for (const auto& [station, c] : plan.station) {
        StationState& st = state.stations[at(station)];
        const double a = station == plan.anchor ? 1.0 : x[c], b = station == plan.anchor ? 0.0 : x[c + 1];
        const double size = std::hypot(a, b), roll = std::atan2(b, a);
        // (a, b) turns the picture into camera-plane axes; the camera itself is turned the other way.
        st.R = rotationExp(Vec3(0, 0, -roll)) * st.R;
        st.lnScale = -std::log(std::max(size, 1e-9) * kUnit);
        const Mat2 turn = rotationExp(Vec3(0, 0, -roll)).topLeftCorner<2, 2>();
        st.g = std::exp(st.lnScale) * (turn * Vec2(x[c + 2], x[c + 3]));
        known.station[at(station)] = true;
    }
    for (const auto& [feature, c] : plan.feature) {
        FeatureState& f = state.features[at(feature)];
        f.p.head<2>() = x.segment<2>(c);
        known.featurePlan[at(feature)] = system.touched(c) && system.touched(c + 1);
        if (f.level < 0) {
            f.p.z() = x[c + 2];
            known.featureSpace[at(feature)] = known.featurePlan[at(feature)] && system.touched(c + 2);
        }
    }
    for (const auto& [level, c] : plan.level)
        if (system.touched(c)) {
            state.levels[at(level)] = x[c];
            known.level[at(level)] = true;
        }
    for (const auto& [feature, c] : plan.feature) {
        const FeatureState& f = state.features[at(feature)];
        if (f.level >= 0)
            known.featureSpace[at(feature)] = known.featurePlan[at(feature)] && known.level[at(f.level)];
    }
}

}  // namespace trammel::adjust
