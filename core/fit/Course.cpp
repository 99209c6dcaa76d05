// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Course.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

namespace trammel::fit {
namespace {

constexpr double kCell = 12.0;  // px, side of a square of the index

Vec2 right(const Vec2& t) { return {-t.y(), t.x()}; }

long cellOf(double x, double y) {
    const long i = static_cast<long>(std::floor(x / kCell)), j = static_cast<long>(std::floor(y / kCell));
    return i * 1000003L + j;
}

}  // namespace

CourseGuide::CourseGuide(std::vector<CourseSample> samples, bool closed, double side)
    : samples_(std::move(samples)), closed_(closed), side_(side), start_(samples_.size(), 0.0) {
    for (std::size_t i = 0; i < samples_.size(); ++i) {
        start_[i] = length_;
        cells_[cellOf(samples_[i].point.x(), samples_[i].point.y())].push_back(i);
        if (i + 1 == samples_.size() && !closed_) break;
        const CourseSample &a = samples_[i], &b = samples_[next(i)];
        const double chord = (b.point - a.point).norm(), bend = 0.5 * (a.curvature + b.curvature) * chord;
        length_ += chord * (1.0 + bend * bend / 24.0);
    }
}

std::pair<std::size_t, double> CourseGuide::find(double s) const {
    if (closed_) s -= std::floor(s / length_) * length_;
    const std::size_t last = closed_ ? samples_.size() - 1 : samples_.size() - 2;
    const auto up = std::upper_bound(start_.begin() + 1, start_.begin() + static_cast<long>(last) + 1, s);
    const std::size_t i = static_cast<std::size_t>(up - start_.begin()) - 1;
    const double end = i + 1 < samples_.size() ? start_[i + 1] : length_;
    return {i, (s - start_[i]) / std::max(end - start_[i], 1e-12)};
}

Vec2 CourseGuide::tangent(double s) const {
    const auto [i, f] = find(s);
    const double t = std::clamp(f, 0.0, 1.0);
    return ((1.0 - t) * samples_[i].tangent + t * samples_[next(i)].tangent).normalized();
}

Vec2 CourseGuide::normal(double s) const { return side_ * right(tangent(s)); }

double CourseGuide::curvature(double s) const {
    const auto [i, f] = find(s);
    if (f < 0.0 || f > 1.0) return 0.0;
    return -side_ * ((1.0 - f) * samples_[i].curvature + f * samples_[next(i)].curvature);
}

Vec2 CourseGuide::point(double s, double d) const {
    const auto [i, f] = find(s);
    const CourseSample &a = samples_[i], &b = samples_[next(i)];
    const double t = std::clamp(f, 0.0, 1.0), h = (b.point - a.point).norm();
    const double t2 = t * t, t3 = t2 * t;
    Vec2 p = (2 * t3 - 3 * t2 + 1) * a.point + (t3 - 2 * t2 + t) * h * a.tangent +
             (3 * t2 - 2 * t3) * b.point + (t3 - t2) * h * b.tangent;
    if (f != t) p += (f - t) * h * (f < 0.0 ? a.tangent : b.tangent);
    return d == 0.0 ? p : Vec2(p + normal(s) * d);
}

std::size_t CourseGuide::nearestSample(const Vec2& p) const {
    std::size_t best = samples_.size();
    double least = 1e300;
    const auto tryOne = [&](std::size_t i) {
        const double d = (samples_[i].point - p).squaredNorm();
        if (d < least) least = d, best = i;
    };
    for (int j = -1; j <= 1; ++j)
        for (int i = -1; i <= 1; ++i) {
            const auto cell = cells_.find(cellOf(p.x() + i * kCell, p.y() + j * kCell));
            if (cell == cells_.end()) continue;
            for (std::size_t k : cell->second) tryOne(k);
        }
    // Whatever lies farther than a cell's side may have a nearer sample outside the nine squares.
    if (least > kCell * kCell)
        for (std::size_t k = 0; k < samples_.size(); ++k) tryOne(k);
    return best;
}

Local CourseGuide::locate(const Vec2& p) const {
    double s = start_[nearestSample(p)], d = 0.0;
    for (int pass = 0; pass < 4; ++pass) {
        const Vec2 q = p - point(s), t = tangent(s);
        d = side_ * right(t).dot(q);
        const double step = t.dot(q) / std::max(0.2, 1.0 + curvature(s) * d);
        s += std::clamp(step, -3.0 * kCell, 3.0 * kCell);
        if (std::abs(step) < 1e-4) break;
    }
    if (closed_) s -= std::floor(s / length_) * length_;
    return {s, side_ * right(tangent(s)).dot(p - point(s))};
}

CourseGuide CourseGuide::part(double s0, double s1) const {
    const int count = std::max(2, static_cast<int>(std::ceil(s1 - s0)));
    std::vector<CourseSample> out;
    for (int i = 0; i <= count; ++i) {
        const double s = s0 + (s1 - s0) * i / count;
        out.push_back({point(s), tangent(s), -side_ * curvature(s)});
    }
    return CourseGuide(std::move(out), false, side_);
}

namespace {

/// Weights of four neighbouring nodes at u, counted in nodes; first and second derivatives by u.
struct Basis {
    std::array<Eigen::Index, 4> node{};
    std::array<double, 4> value{}, first{}, second{};
};

/// An open row has one node before its first place and one behind its last.
Basis basisAt(double u, Eigen::Index nodes, bool closed) {
    auto i = static_cast<Eigen::Index>(std::floor(u));
    if (!closed) i = std::clamp<Eigen::Index>(i, 0, nodes - 4);
    const double t = u - static_cast<double>(i), s = 1.0 - t;
    Basis b;
    b.value = {s * s * s / 6, (4 - 6 * t * t + 3 * t * t * t) / 6,
               (1 + 3 * t + 3 * t * t - 3 * t * t * t) / 6, t * t * t / 6};
    b.first = {-s * s / 2, (-4 * t + 3 * t * t) / 2, (1 + 2 * t - 3 * t * t) / 2, t * t / 2};
    b.second = {s, 3 * t - 2, 1 - 3 * t, t};
    for (int k = 0; k < 4; ++k) b.node[k] = closed ? (i - 1 + k + nodes) % nodes : i + k;
    return b;
}

using Nodes = Eigen::Matrix<double, Eigen::Dynamic, 2>;

Vec2 combine(const Nodes& nodes, const Basis& b, const std::array<double, 4>& weight) {
    Vec2 out = Vec2::Zero();
    for (int k = 0; k < 4; ++k) out += weight[k] * nodes.row(b.node[k]).transpose();
    return out;
}

Nodes solveNodes(const std::vector<Vec2>& points, const std::vector<double>& u,
                 const std::vector<double>& weights, Eigen::Index count, const SplineOptions& o) {
    MatX n = MatX::Zero(count, count);
    Nodes g = Nodes::Zero(count, 2);
    double total = 0.0;
    for (std::size_t i = 0; i < points.size(); ++i) {
        const Basis b = basisAt(u[i], count, o.closed);
        total += weights[i];
        for (int r = 0; r < 4; ++r) {
            g.row(b.node[r]) += weights[i] * b.value[r] * points[i].transpose();
            for (int c = 0; c < 4; ++c) n(b.node[r], b.node[c]) += weights[i] * b.value[r] * b.value[c];
        }
    }
    const double stiff = o.stiffness * total / static_cast<double>(points.size());
    const std::array<double, 4> w = {-1, 3, -3, 1};
    for (Eigen::Index j = 0; j < (o.closed ? count : count - 3); ++j)
        for (int r = 0; r < 4; ++r)
            for (int c = 0; c < 4; ++c) n((j + r) % count, (j + c) % count) += stiff * w[r] * w[c];
    n.diagonal().array() += 1e-9 * total;
    return n.ldlt().solve(g);
}

/// Cauchy weights of the distances from the spline.
void reweight(const std::vector<Vec2>& points, const std::vector<double>& u, const Nodes& nodes, bool closed,
              const std::vector<double>& base, std::vector<double>& weights) {
    std::vector<double> r(points.size());
    for (std::size_t i = 0; i < r.size(); ++i) {
        const Basis b = basisAt(u[i], nodes.rows(), closed);
        r[i] = (combine(nodes, b, b.value) - points[i]).norm();
    }
    std::vector<double> sorted = r;
    std::nth_element(sorted.begin(), sorted.begin() + static_cast<long>(sorted.size() / 2), sorted.end());
    const double sigma = std::max(1.4826 * sorted[sorted.size() / 2], 0.05);
    for (std::size_t i = 0; i < r.size(); ++i)
        weights[i] = base[i] / (1.0 + std::pow(r[i] / (2.5 * sigma), 2));
}

}  // namespace

std::optional<std::vector<CourseSample>> splineThrough(const std::vector<Vec2>& given, const SplineOptions& o,
                                                       const std::vector<double>& givenWeights) {
    std::vector<Vec2> points;
    std::vector<double> u, base;
    double length = 0.0;
    for (std::size_t i = 0; i < given.size(); ++i) {
        const double step = points.empty() ? 0.0 : (given[i] - points.back()).norm();
        if (!points.empty() && step < 1e-6) continue;
        length += step;
        points.push_back(given[i]);
        u.push_back(length);
        base.push_back(givenWeights.empty() ? 1.0 : givenWeights[i]);
    }
    if (o.closed && points.size() > 2) length += (points.front() - points.back()).norm();
    if (points.size() < 3 || !(length > 0.0)) return std::nullopt;
    const double pieces = std::max(o.closed ? 4.0 : 3.0, std::ceil(length / o.nodeSpacing_px));
    const Eigen::Index count = static_cast<Eigen::Index>(pieces) + (o.closed ? 0 : 3);
    for (double& v : u) v *= pieces / length;
    std::vector<double> weights = base;
    Nodes nodes = solveNodes(points, u, weights, count, o);
    for (int pass = 0; o.robust && pass < 5; ++pass) {
        reweight(points, u, nodes, o.closed, base, weights);
        nodes = solveNodes(points, u, weights, count, o);
    }
    const int samples = std::max(8, static_cast<int>(std::ceil(1.15 * length)));
    std::vector<CourseSample> out;
    for (int i = 0; i < samples + (o.closed ? 0 : 1); ++i) {
        const Basis b = basisAt(pieces * i / samples, count, o.closed);
        const Vec2 first = combine(nodes, b, b.first), second = combine(nodes, b, b.second);
        const double speed = first.norm();
        if (!(speed > 1e-9)) return std::nullopt;
        out.push_back({combine(nodes, b, b.value), first / speed,
                       (first.x() * second.y() - first.y() * second.x()) / (speed * speed * speed)});
    }
    return out;
}

}  // namespace trammel::fit
