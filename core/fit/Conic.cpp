// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Conic.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace trammel::fit {
namespace {

using Vec5 = Eigen::Matrix<double, 5, 1>;
using Mat5 = Eigen::Matrix<double, 5, 5>;

bool sane(const Ellipse& e) {
    const Axes x = axesOf(e);
    return e.centre.allFinite() && e.shape.allFinite() && x.b > 1e-9 && x.a < 1e9;
}

/// Normal equations of the orthogonal distances; returns the weighted sum of squares.
double normalEquations(const std::vector<Vec2>& points, const std::vector<double>& weights, const Ellipse& e,
                       double roundness, Mat5& normal, Vec5& gradient) {
    normal.setZero();
    gradient.setZero();
    const EllipseDistance distance(e);
    const Mat2 inverse = e.shape.inverse();
    double sum = 0.0;
    auto add = [&](const Vec5& j, double r, double w) {
        sum += w * r * r;
        normal += w * j * j.transpose();
        gradient += w * r * j;
    };
    for (std::size_t i = 0; i < points.size(); ++i) {
        const Foot f = distance.foot(points[i]);
        const Vec2 u = inverse * (f.point - e.centre);
        Vec5 j;
        j << f.normal.x(), f.normal.y(), f.normal.x() * u.x(), f.normal.x() * u.y() + f.normal.y() * u.x(),
            f.normal.y() * u.y();
        add(-j, f.distance, weights.empty() ? 1.0 : weights[i]);
    }
    if (roundness > 0.0) {
        const double size = 0.5 * e.shape.trace(), w = 1.0 / std::pow(roundness * size, 2);
        add((Vec5() << 0, 0, 1, 0, -1).finished(), e.shape(0, 0) - e.shape(1, 1), w);
        add((Vec5() << 0, 0, 0, 2, 0).finished(), 2.0 * e.shape(0, 1), w);
    }
    return sum;
}

Ellipse moved(const Ellipse& e, const Vec5& step) {
    Ellipse out = e;
    out.centre += step.head<2>();
    out.shape(0, 0) += step(2);
    out.shape(0, 1) += step(3);
    out.shape(1, 0) = out.shape(0, 1);
    out.shape(1, 1) += step(4);
    return out;
}

/// Pratt's fit with the constraint B² + C² − 4AD = 1, by the smallest positive eigenvalue.
std::optional<Ellipse> algebraicCircle(const std::vector<Vec2>& points, const std::vector<double>& weights) {
    Vec2 mean = Vec2::Zero();
    double total = 0.0;
    for (std::size_t i = 0; i < points.size(); ++i) {
        const double w = weights.empty() ? 1.0 : weights[i];
        mean += w * points[i];
        total += w;
    }
    mean /= total;
    double scale = 0.0;
    for (const Vec2& p : points) scale = std::max(scale, (p - mean).norm());
    if (!(scale > 0.0)) return std::nullopt;
    Eigen::Matrix4d moment = Eigen::Matrix4d::Zero();
    for (std::size_t i = 0; i < points.size(); ++i) {
        const Vec2 q = (points[i] - mean) / scale;
        const Eigen::Vector4d row(q.squaredNorm(), q.x(), q.y(), 1.0);
        moment += (weights.empty() ? 1.0 : weights[i]) / total * row * row.transpose();
    }
    Eigen::Matrix4d constraint = Eigen::Matrix4d::Zero();
    constraint(1, 1) = constraint(2, 2) = 1.0;
    constraint(0, 3) = constraint(3, 0) = -2.0;
    const Eigen::EigenSolver<Eigen::Matrix4d> solver(constraint.inverse() * moment);
    int best = -1;
    for (int k = 0; k < 4; ++k)
        if (solver.eigenvalues()(k).real() > -1e-12 &&
            (best < 0 || solver.eigenvalues()(k).real() < solver.eigenvalues()(best).real()))
            best = k;
    if (best < 0) return std::nullopt;
    const Eigen::Vector4d v = solver.eigenvectors().col(best).real();
    if (std::abs(v(0)) < 1e-9 * v.norm()) return std::nullopt;
    const Vec2 centre(-v(1) / (2 * v(0)), -v(2) / (2 * v(0)));
    const double r2 = centre.squaredNorm() - v(3) / v(0);
    if (!(r2 > 0.0) || r2 > 1e8) return std::nullopt;
    return Ellipse::circle(mean + scale * centre, scale * std::sqrt(r2));
}

}  // namespace

Axes axesOf(const Ellipse& ellipse) {
    const double p = ellipse.shape(0, 0), q = ellipse.shape(0, 1), r = ellipse.shape(1, 1);
    const double mean = 0.5 * (p + r), half = std::hypot(0.5 * (p - r), q);
    double angle = half > 0.0 ? 0.5 * std::atan2(2.0 * q, p - r) : 0.0;
    if (angle <= -std::numbers::pi / 2) angle += std::numbers::pi;
    return {mean + half, mean - half, angle};
}

EllipseDistance::EllipseDistance(const Ellipse& ellipse) : centre_(ellipse.centre), axes_(axesOf(ellipse)) {
    const double c = std::cos(axes_.angle), s = std::sin(axes_.angle);
    v_ << c, -s, s, c;
}

Vec2 EllipseDistance::pointAt(double t) const {
    return centre_ + v_ * Vec2(axes_.a * std::cos(t), axes_.b * std::sin(t));
}

Vec2 EllipseDistance::normalAt(double t) const {
    return v_ * Vec2(axes_.b * std::cos(t), axes_.a * std::sin(t)).normalized();
}

double EllipseDistance::speedAt(double t) const {
    const double x = axes_.a * std::sin(t), y = axes_.b * std::cos(t);
    return std::sqrt(x * x + y * y);
}

double EllipseDistance::curvatureAt(double t) const {
    const double speed = speedAt(t);
    return axes_.a * axes_.b / (speed * speed * speed);
}

bool EllipseDistance::misses(const Vec2& p, double low, double high) const {
    const Vec2 local = v_.transpose() * (p - centre_);
    const double u = local.x() / axes_.a, v = local.y() / axes_.b, scale = std::sqrt(u * u + v * v);
    return (scale - 1.0) * axes_.b > high || (scale - 1.0) * axes_.b < low;
}

// The foot point is improved through the local circle of curvature, whose centre lies on the evolute. That
// converges from any start, unlike Newton's iteration on the angle.
Foot EllipseDistance::foot(const Vec2& p) const {
    const double a = axes_.a, b = axes_.b;
    const Vec2 local = v_.transpose() * (p - centre_);
    const double px = std::abs(local.x()), py = std::abs(local.y());
    double tx = px / a, ty = py / b;
    const double n0 = std::sqrt(tx * tx + ty * ty);
    if (n0 > 0.0) {
        tx /= n0;
        ty /= n0;
    } else {
        tx = 0.0;
        ty = 1.0;
    }
    // Roots and divisions are most of the cost, hypot is slower still.
    const double perA = 1.0 / a, perB = 1.0 / b, fx = (a * a - b * b) * perA, fy = (b * b - a * a) * perB;
    for (int k = 0; k < 40; ++k) {
        const double ex = fx * tx * tx * tx, ey = fy * ty * ty * ty;
        const double rx = a * tx - ex, ry = b * ty - ey, qx = px - ex, qy = py - ey;
        const double q2 = qx * qx + qy * qy;
        if (!(q2 > 0.0)) break;
        const double scale = std::sqrt((rx * rx + ry * ry) / q2);
        double nx = std::clamp((qx * scale + ex) * perA, 0.0, 1.0),
               ny = std::clamp((qy * scale + ey) * perB, 0.0, 1.0);
        const double perN = 1.0 / std::sqrt(nx * nx + ny * ny);
        nx *= perN;
        ny *= perN;
        const double change = std::abs(nx - tx) + std::abs(ny - ty);
        tx = nx;
        ty = ny;
        if (change < 1e-6) break;  // the error of the point is of the square of the last change
    }
    Foot f;
    tx = std::copysign(tx, local.x());
    ty = std::copysign(ty, local.y());
    f.t = std::atan2(ty, tx);
    f.point = centre_ + v_ * Vec2(a * tx, b * ty);
    f.normal = v_ * Vec2(b * tx, a * ty).normalized();
    f.distance = f.normal.dot(p - f.point);
    return f;
}

std::optional<Ellipse> fitCircle(const std::vector<Vec2>& points, const std::vector<double>& weights) {
    if (points.size() < 3) return std::nullopt;
    std::optional<Ellipse> e = algebraicCircle(points, weights);
    if (!e) return std::nullopt;
    Vec2 centre = e->centre;
    double radius = e->shape(0, 0);
    for (int k = 0; k < 50; ++k) {
        Mat3 normal = Mat3::Zero();
        Vec3 gradient = Vec3::Zero();
        for (std::size_t i = 0; i < points.size(); ++i) {
            const Vec2 d = points[i] - centre;
            const double n = std::max(d.norm(), 1e-12), w = weights.empty() ? 1.0 : weights[i];
            const Vec3 j(-d.x() / n, -d.y() / n, -1.0);
            normal += w * j * j.transpose();
            gradient += w * (n - radius) * j;
        }
        const Vec3 step = -normal.ldlt().solve(gradient);
        if (!step.allFinite()) return std::nullopt;
        centre += step.head<2>();
        radius += step.z();
        if (step.norm() < 1e-13 * std::max(1.0, radius)) break;
    }
    const Ellipse out = Ellipse::circle(centre, radius);
    if (!(radius > 0.0) || !sane(out)) return std::nullopt;
    return out;
}

std::optional<Ellipse> fitEllipse(const std::vector<Vec2>& points, const Ellipse& start,
                                  const std::vector<double>& weights, double roundness) {
    if ((points.size() < 5 && roundness <= 0.0) || points.size() < 3 || !sane(start)) return std::nullopt;
    Ellipse e = start;
    double damping = 1e-4;
    Mat5 normal = Mat5::Zero(), nextNormal;
    Vec5 gradient = Vec5::Zero(), nextGradient;
    double now = normalEquations(points, weights, e, roundness, normal, gradient);
    for (int k = 0; k < 200; ++k) {
        bool better = false;
        double relative = 0.0;
        for (int attempt = 0; attempt < 12 && !better; ++attempt) {
            Mat5 damped = normal;
            damped.diagonal() *= 1.0 + damping;
            damped.diagonal().array() += 1e-12 * normal.diagonal().maxCoeff();
            const Vec5 step = -damped.ldlt().solve(gradient);
            const Ellipse next = moved(e, step);
            relative = step.norm() / next.shape.trace();
            const bool possible = step.allFinite() && sane(next);
            const double cost =
                possible ? normalEquations(points, weights, next, roundness, nextNormal, nextGradient) : 0.0;
            if (possible && cost <= now) {
                e = next;
                now = cost;
                normal = nextNormal;
                gradient = nextGradient;
                better = true;
                damping = std::max(damping * 0.2, 1e-15);
            } else {
                damping *= 8.0;
            }
            if (relative < 1e-10) break;  // what is left is of the square, or rounding
        }
        if (!better || relative < 1e-10) break;
    }
    return e;
}

}  // namespace trammel::fit
