// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <Eigen/QR>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <string>
#include <vector>

#include "core/estimate/Problem.h"

namespace trammel::test {

/// Points in 1 (height), 2 or 3 coordinates with the observations of surveying textbooks, as a Problem of the
/// adjustment engine. Lengths in m, angles in rad. The orientation of a set of directions is an eliminated
/// block, the coordinates are kept.
///
/// Datum: every coordinate is approx + B u with the unknowns u. Fixed points have zero rows in B. A free
/// network (inner constraints over chosen points) takes for B an orthonormal basis of the null space of the
/// constraints, which holds them exactly with either engine.
class PointNetwork : public estimate::Problem {
  public:
    enum class Kind { Rise, Distance, Angle, Direction, Bearing, Prior };

    struct Observation {
        Kind kind = Kind::Distance;
        int from = 0, to = 0, second = 0;  ///< points; second: the other target of an angle
        double value = 0.0, sigma = 1.0;
        int set = -1;                 ///< directions: whose orientation
        std::vector<double> prior{};  ///< Prior: coefficient of each coordinate, already divided by σ
    };

    explicit PointNetwork(int dimensions) : dimensions_(dimensions) {}

    int addPoint(const std::string& name, const std::vector<double>& approx) {
        index_[name] = static_cast<int>(names_.size());
        names_.push_back(name);
        for (int k = 0; k < dimensions_; ++k) approx_.push_back(approx.at(static_cast<std::size_t>(k)));
        return index_[name];
    }
    int point(const std::string& name) const {
        const auto it = index_.find(name);
        if (it == index_.end()) throw std::runtime_error("no point " + name);
        return it->second;
    }
    int coordinate(int point, int axis) const { return point * dimensions_ + axis; }
    int dimensions() const { return dimensions_; }
    const std::vector<std::string>& names() const { return names_; }
    double approx(int coordinate) const { return approx_[static_cast<std::size_t>(coordinate)]; }

    std::vector<Observation> observations;
    std::vector<double> orientations;  ///< start values, one a set
    int turn = 1;                      ///< +1: angles grow from +x to +y, −1: the other way

    /// Coordinates that do not move; all others are unknown.
    void fix(const std::vector<bool>& fixed) {
        const auto n = static_cast<Eigen::Index>(approx_.size());
        B_ = MatX::Identity(n, n);
        Eigen::Index kept = 0;
        for (Eigen::Index i = 0; i < n; ++i)
            if (!fixed[static_cast<std::size_t>(i)]) B_.col(kept++) = MatX::Identity(n, n).col(i);
        layOut(B_.leftCols(kept));
    }

    /// Inner constraints over the chosen coordinates: their shifts have no mean, no rotation (unless bearings
    /// are observed) and no change of scale (unless distances are).
    void free(const std::vector<bool>& chosen) {
        const auto n = static_cast<Eigen::Index>(approx_.size());
        const bool lengths = has(Kind::Distance) || has(Kind::Rise);
        const Vec2 centre = centreOf(chosen);
        std::vector<VecX> constraints;
        for (int axis = 0; axis < dimensions_; ++axis) constraints.push_back(each(chosen, axis, n));
        if (dimensions_ == 2 && !has(Kind::Bearing)) constraints.push_back(plan(chosen, centre, true, n));
        if (dimensions_ == 2 && !lengths) constraints.push_back(plan(chosen, centre, false, n));
        MatX C(n, static_cast<Eigen::Index>(constraints.size()));
        for (Eigen::Index k = 0; k < C.cols(); ++k)
            C.col(k) = constraints[static_cast<std::size_t>(k)].normalized();
        const MatX Q = C.householderQr().householderQ() * MatX::Identity(n, n);
        layOut(Q.rightCols(n - C.cols()));
    }

    const estimate::Layout& layout() const override { return layout_; }

    bool linearise(std::vector<estimate::Rows>& rows, bool) const override {
        rows.assign(observations.size(), {});
        for (std::size_t i = 0; i < observations.size(); ++i) linearise(observations[i], rows[i]);
        return true;
    }
    void step(const VecX& delta) override { u_ += delta; }
    void save() override { saved_ = u_; }
    void restore() override { u_ = saved_; }

    double value(int coordinate) const { return approx(coordinate) + shift(coordinate); }
    double shift(int coordinate) const { return B_.row(coordinate).dot(u_.tail(B_.cols())); }
    /// Derivative of a coordinate by the columns.
    std::vector<std::pair<int, double>> gradient(int coordinate) const {
        std::vector<std::pair<int, double>> g;
        for (Eigen::Index k = 0; k < B_.cols(); ++k)
            g.emplace_back(layout_.eliminatedColumns + static_cast<int>(k), B_(coordinate, k));
        return g;
    }
    /// Sum of squared misfits of the angles as the points stand.
    double angularMisfit() const {
        std::vector<estimate::Rows> rows;
        linearise(rows, false);
        double sum = 0.0;
        for (std::size_t i = 0; i < rows.size(); ++i)
            if (observations[i].kind == Kind::Angle || observations[i].kind == Kind::Direction)
                sum += rows[i].squared();
        return sum;
    }
    /// Orientations that make the first direction of each set fit, as the points stand.
    void orient() {
        for (std::size_t s = 0; s < orientations.size(); ++s)
            for (auto it = observations.rbegin(); it != observations.rend(); ++it)
                if (it->set == static_cast<int>(s))
                    orientations[s] = turn * azimuth(it->from, it->to, nullptr) - it->value;
    }
    static double wrapped(double angle) { return std::remainder(angle, 2 * std::numbers::pi); }

  private:
    bool has(Kind kind) const {
        for (const Observation& o : observations)
            if (o.kind == kind) return true;
        return false;
    }
    void layOut(const MatX& basis) {
        B_ = basis;
        layout_ = {};
        layout_.eliminatedColumns = static_cast<int>(orientations.size());
        for (int s = 0; s < layout_.eliminatedColumns; ++s) layout_.blockStart.push_back(s);
        layout_.columns = layout_.eliminatedColumns + static_cast<int>(B_.cols());
        u_ = saved_ = VecX::Zero(layout_.columns);
    }
    VecX each(const std::vector<bool>& chosen, int axis, Eigen::Index n) const {
        VecX c = VecX::Zero(n);
        for (Eigen::Index i = axis; i < n; i += dimensions_) c[i] = chosen[static_cast<std::size_t>(i)];
        return c;
    }
    Vec2 centreOf(const std::vector<bool>& chosen) const {
        Vec2 sum = Vec2::Zero(), count = Vec2::Zero();
        for (std::size_t i = 0; i < chosen.size(); ++i) {
            const auto axis = static_cast<Eigen::Index>(i) % dimensions_;
            if (chosen[i] && axis < 2) sum[axis] += approx_[i], count[axis] += 1.0;
        }
        return sum.cwiseQuotient(count.cwiseMax(1.0));
    }
    VecX plan(const std::vector<bool>& chosen, const Vec2& centre, bool rotation, Eigen::Index n) const {
        VecX c = VecX::Zero(n);
        for (Eigen::Index i = 0; i + 1 < n; i += 2) {
            const Vec2 d = Vec2(approx(static_cast<int>(i)), approx(static_cast<int>(i) + 1)) - centre;
            const Vec2 by = rotation ? Vec2(-d.y(), d.x()) : d;
            for (Eigen::Index k = 0; k < 2; ++k)
                if (chosen[static_cast<std::size_t>(i + k)]) c[i + k] = by[k];
        }
        return c;
    }
    double difference(int from, int to, int axis) const {
        const int a = coordinate(from, axis), b = coordinate(to, axis);
        return (approx(b) - approx(a)) + (shift(b) - shift(a));
    }
    /// Angle of the line from +x towards +y; adds its derivative, times `sign`, to g.
    double azimuth(int from, int to, VecX* g, double sign = 1.0) const {
        const double dx = difference(from, to, 0), dy = difference(from, to, 1), s2 = dx * dx + dy * dy;
        if (g) {
            add(*g, to, 0, sign * -dy / s2), add(*g, from, 0, sign * dy / s2);
            add(*g, to, 1, sign * dx / s2), add(*g, from, 1, sign * -dx / s2);
        }
        return std::atan2(dy, dx);
    }
    void add(VecX& g, int point, int axis, double value) const { g[coordinate(point, axis)] += value; }

    /// Computed value, with its derivative by the coordinates.
    double computed(const Observation& o, VecX& g) const {
        switch (o.kind) {
            case Kind::Rise:
                add(g, o.to, 0, 1.0), add(g, o.from, 0, -1.0);
                return difference(o.from, o.to, 0);
            case Kind::Distance: {
                double s2 = 0.0;
                for (int k = 0; k < dimensions_; ++k) s2 += std::pow(difference(o.from, o.to, k), 2);
                for (int k = 0; k < dimensions_; ++k) {
                    const double c = difference(o.from, o.to, k) / std::sqrt(s2);
                    add(g, o.to, k, c), add(g, o.from, k, -c);
                }
                return std::sqrt(s2);
            }
            case Kind::Angle:
                return turn * (azimuth(o.from, o.second, &g, turn) - azimuth(o.from, o.to, &g, -turn));
            case Kind::Direction:
                return turn * azimuth(o.from, o.to, &g, turn) - orientation(o.set);
            case Kind::Bearing:  // from +y towards +x
                return std::numbers::pi / 2 - azimuth(o.from, o.to, &g, -1.0);
            case Kind::Prior: {
                double sum = 0.0;
                for (Eigen::Index i = 0; i < g.size(); ++i) {
                    g[i] = o.prior[static_cast<std::size_t>(i)];
                    if (g[i] != 0.0) sum += g[i] * shift(static_cast<int>(i));
                }
                return sum;
            }
        }
        return 0.0;
    }
    double orientation(int set) const { return orientations[static_cast<std::size_t>(set)] + u_[set]; }

    void linearise(const Observation& o, estimate::Rows& row) const {
        VecX g = VecX::Zero(B_.rows());
        const bool angular = o.kind == Kind::Angle || o.kind == Kind::Direction || o.kind == Kind::Bearing;
        const double off = o.value - computed(o, g);
        row.e[0] = (angular ? wrapped(off) : off) / o.sigma;
        if (o.set >= 0) row.add(o.set, -1.0 / o.sigma);
        const VecX byColumn = B_.transpose() * g / o.sigma;
        for (Eigen::Index k = 0; k < B_.cols(); ++k)
            if (touches(g, k)) row.add(layout_.eliminatedColumns + static_cast<int>(k), byColumn[k]);
    }
    bool touches(const VecX& g, Eigen::Index column) const {
        for (Eigen::Index i = 0; i < g.size(); ++i)
            if (g[i] != 0.0 && B_(i, column) != 0.0) return true;
        return false;
    }

    int dimensions_;
    std::vector<std::string> names_;
    std::map<std::string, int> index_;
    std::vector<double> approx_;
    MatX B_;
    estimate::Layout layout_;
    VecX u_, saved_;
};

}  // namespace trammel::test
