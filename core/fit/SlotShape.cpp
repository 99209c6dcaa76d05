// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/SlotShape.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace trammel::fit {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr int kUnknowns = 9;  // centre, shape, half, lean
using Row = Eigen::Matrix<double, kUnknowns, 1>;
using Normal = Eigen::Matrix<double, kUnknowns, kUnknowns>;

/// Place on the slot of radius 1: point, unit tangent, curvature vector, and its motion with `half`.
struct Unit {
    Vec2 q = Vec2::Zero(), tangent = Vec2::Zero(), bend = Vec2::Zero(), byHalf = Vec2::Zero();
};

Unit unitAt(double half, double u) {
    const double side = 2.0 * half, whole = 2.0 * (side + kPi);
    u -= std::floor(u / whole) * whole;
    if (u < side) return {{u - half, -1.0}, {1.0, 0.0}, Vec2::Zero(), Vec2::Zero()};
    u -= side;
    if (u < kPi) {
        const Vec2 out(std::sin(u), -std::cos(u));
        return {Vec2(half, 0.0) + out, {std::cos(u), std::sin(u)}, -out, {1.0, 0.0}};
    }
    u -= kPi;
    if (u < side) return {{half - u, 1.0}, {-1.0, 0.0}, Vec2::Zero(), Vec2::Zero()};
    u -= side;
    const Vec2 out(-std::sin(u), std::cos(u));
    return {Vec2(-half, 0.0) + out, {-std::cos(u), -std::sin(u)}, -out, {-1.0, 0.0}};
}

/// Derivative of the picture by q, and by half and lean, at q.
Mat2 byPlace(const SlotShape& s, const Vec2& q) {
    const double w = 1.0 + s.lean.dot(q);
    return s.shape / w - (s.shape * q) * s.lean.transpose() / (w * w);
}

/// Outward normal displacement by each unknown.
Row rowAt(const SlotShape& s, double u, const Vec2& n) {
    const Unit at = unitAt(s.half, u);
    const double w = 1.0 + s.lean.dot(at.q);
    const Vec2 x = s.shape * at.q;
    Row row;
    row << n.x(), n.y(), n.x() * at.q.x() / w, n.x() * at.q.y() / w, n.y() * at.q.x() / w,
        n.y() * at.q.y() / w, n.dot(byPlace(s, at.q) * at.byHalf), -n.dot(x) * at.q.x() / (w * w),
        -n.dot(x) * at.q.y() / (w * w);
    return row;
}

SlotShape moved(const SlotShape& s, const Row& step) {
    SlotShape out = s;
    out.centre += step.head<2>();
    out.shape(0, 0) += step(2);
    out.shape(0, 1) += step(3);
    out.shape(1, 0) += step(4);
    out.shape(1, 1) += step(5);
    out.half += step(6);
    out.lean += step.tail<2>();
    return out;
}

bool sane(const SlotShape& s) {
    const double reach = s.half + 1.0;
    return s.centre.allFinite() && s.shape.allFinite() && s.half >= 0.0 && s.half < 1e3 &&
           std::abs(s.lean.x()) * reach + std::abs(s.lean.y()) < 0.5 &&
           std::abs(s.shape.determinant()) > 1e-3;
}

class Problem {
  public:
    Problem(const std::vector<Vec2>& points, const SlotShape& start, const SlotBelief& belief,
            const std::vector<double>& base)
        : weights(base.empty() ? std::vector<double>(points.size(), 1.0) : base),
          points_(points),
          start_(start),
          belief_(belief) {}

    double cost(const SlotShape& s, Normal* n, Row* g) const {
        double sum = 0.0;
        const auto add = [&](const Row& j, double r, double w) {
            sum += w * r * r;
            if (!n) return;
            *n += w * j * j.transpose();
            *g += w * r * j;
        };
        double mean = 0.0;
        for (std::size_t i = 0; i < points_.size(); ++i) {
            const double u = s.nearest(points_[i]);
            const Vec2 out = s.outward(u);
            add(rowAt(s, u, out), out.dot(points_[i] - s.at(u).point), weights[i]);
            mean += weights[i] / static_cast<double>(points_.size());
        }
        addBeliefs(s, mean, add);
        return sum;
    }

    std::vector<double> residuals(const SlotShape& s) const {
        std::vector<double> out;
        for (const Vec2& p : points_)
            out.push_back(std::abs(s.outward(s.nearest(p)).dot(p - s.at(s.nearest(p)).point)));
        return out;
    }

    std::vector<double> weights;

  private:
    template <class Add>
    void addBeliefs(const SlotShape& s, double mean, const Add& add) const {
        // The ends are circles where shape is a rotation times a size: its two departures are believed zero.
        Row a = Row::Zero(), b = Row::Zero();
        a(2) = 1.0, a(5) = -1.0, b(3) = 1.0, b(4) = 1.0;
        if (belief_.roundness > 0.0) {
            const double w = mean / std::pow(belief_.roundness * s.size(), 2);
            add(a, -(s.shape(0, 0) - s.shape(1, 1)), w);
            add(b, -(s.shape(0, 1) + s.shape(1, 0)), w);
        }
        for (int k = 0; k < 2; ++k) {
            Row lean = Row::Zero();
            lean(7 + k) = 1.0;
            const double sigma = belief_.lean > 0.0 ? belief_.lean : 1e-6;
            add(lean, -s.lean[k], mean / (sigma * sigma));
        }
        Row half = Row::Zero();
        half(6) = 1.0;
        const double sigma = belief_.halfSigma > 0.0 ? belief_.halfSigma : 50.0;
        add(half, start_.half - s.half, mean / (sigma * sigma));
    }

    const std::vector<Vec2>& points_;
    const SlotShape& start_;
    const SlotBelief& belief_;
};

/// Levenberg–Marquardt to where no step makes it better.
void settle(const Problem& problem, SlotShape& s) {
    double damping = 1e-4;
    for (int k = 0; k < 40; ++k) {
        Normal n = Normal::Zero();
        Row g = Row::Zero();
        const double now = problem.cost(s, &n, &g);
        bool better = false;
        double move = 0.0;
        for (int attempt = 0; attempt < 10 && !better; ++attempt) {
            Normal damped = n;
            damped.diagonal() *= 1.0 + damping;
            const Row step = damped.ldlt().solve(g);
            const SlotShape next = moved(s, step);
            if (step.allFinite() && sane(next) && problem.cost(next, nullptr, nullptr) <= now) {
                move = step.head<6>().norm();
                s = next;
                better = true;
                damping *= 0.1;
            } else {
                damping *= 10.0;
            }
        }
        if (!better || move < 1e-4) break;
    }
}

}  // namespace

SlotShape SlotShape::plain(const Vec2& a, const Vec2& b, double radius) {
    SlotShape s;
    s.centre = 0.5 * (a + b);
    const double length = (b - a).norm();
    const Vec2 u = length > 0.0 ? Vec2((b - a) / length) : Vec2(1.0, 0.0);
    s.shape.col(0) = radius * u;
    s.shape.col(1) = radius * Vec2(-u.y(), u.x());
    s.half = 0.5 * length / radius;
    return s;
}

double SlotShape::round() const { return 2.0 * (2.0 * half + kPi); }

double SlotShape::size() const {
    const double a = shape.squaredNorm(), d = std::abs(shape.determinant());
    return std::sqrt(std::max(0.0, 0.5 * (a - std::sqrt(std::max(0.0, a * a - 4.0 * d * d)))));
}

double SlotShape::speed(double u) const {
    const Unit at = unitAt(half, u);
    return (byPlace(*this, at.q) * at.tangent).norm();
}

CourseSample SlotShape::at(double u) const {
    const Unit at = unitAt(half, u);
    const double w = 1.0 + lean.dot(at.q), dw = lean.dot(at.tangent), ddw = lean.dot(at.bend);
    const Vec2 x = shape * at.q, dx = shape * at.tangent, ddx = shape * at.bend;
    const Vec2 first = dx / w - x * dw / (w * w);
    const Vec2 second =
        ddx / w - 2.0 * dx * dw / (w * w) - x * ddw / (w * w) + 2.0 * x * dw * dw / (w * w * w);
    const double speed = first.norm();
    return {centre + x / w, first / speed,
            (first.x() * second.y() - first.y() * second.x()) / (speed * speed * speed)};
}

Vec2 SlotShape::outward(double u) const {
    const Vec2 t = at(u).tangent;
    // In its own axes the rim runs so that outwards is on its right, (t.y, −t.x); a mirrored shape turns
    // that.
    return (shape.determinant() < 0.0 ? -1.0 : 1.0) * Vec2(t.y(), -t.x());
}

double SlotShape::nearest(const Vec2& p) const {
    // Back into the slot's own axes: p − centre = shape q / (1 + lean·q).
    const Vec2 v = shape.inverse() * (p - centre);
    const double w = 1.0 - lean.dot(v);
    const Vec2 q = v / (std::abs(w) > 0.05 ? w : 0.05);
    const double side = 2.0 * half;
    double u = 0.0;
    if (std::abs(q.x()) <= half)
        u = q.y() < 0.0 ? q.x() + half : side + kPi + (half - q.x());
    else if (q.x() > 0.0)
        u = side + 0.5 * kPi + std::atan2(q.y(), q.x() - half);
    else
        u = 2.0 * side + 1.5 * kPi + std::atan2(-q.y(), -(q.x() + half));
    // Nearest there is not quite nearest in the picture: walk along the rim.
    for (int k = 0; k < 4; ++k) {
        const CourseSample c = at(u);
        u += std::clamp(c.tangent.dot(p - c.point) / std::max(speed(u), 1e-6), -0.5, 0.5);
    }
    return u;
}

std::optional<SlotShape> fitSlotShape(const std::vector<Vec2>& points, const SlotShape& start,
                                      const SlotBelief& belief, const std::vector<double>& weights,
                                      bool robust) {
    if (points.size() < 5 || !sane(start)) return std::nullopt;
    Problem problem(points, start, belief, weights);
    const std::vector<double> base = problem.weights;
    SlotShape s = start;
    for (int pass = 0; pass < (robust ? 6 : 1); ++pass) {
        settle(problem, s);
        if (!robust) break;
        const std::vector<double> r = problem.residuals(s);
        std::vector<double> sorted = r;
        std::nth_element(sorted.begin(), sorted.begin() + static_cast<long>(sorted.size() / 2), sorted.end());
        const double sigma = std::max(1.4826 * sorted[sorted.size() / 2], 0.05);
        for (std::size_t i = 0; i < r.size(); ++i)
            problem.weights[i] = base[i] / (1.0 + std::pow(r[i] / (2.5 * sigma), 2));
    }
    return s;
}

std::optional<SlotShape> guessSlot(const std::vector<Vec2>& points) {
    if (points.size() < 5) return std::nullopt;
    Vec2 mean = Vec2::Zero();
    for (const Vec2& p : points) mean += p / static_cast<double>(points.size());
    // The width is least across the slot's axis, whatever the points' scatter: every direction is tried.
    double width = 1e300;
    Vec2 along = Vec2::UnitX();
    for (int k = 0; k < 180; ++k) {
        const Vec2 u(std::cos(kPi * k / 180), std::sin(kPi * k / 180)), v(-u.y(), u.x());
        double low = 1e300, high = -1e300;
        for (const Vec2& p : points) {
            low = std::min(low, v.dot(p));
            high = std::max(high, v.dot(p));
        }
        if (high - low < width) width = high - low, along = u;
    }
    const Vec2 across(-along.y(), along.x());
    Vec2 low(1e300, 1e300), high = -low;
    for (const Vec2& p : points) {
        const Vec2 q(along.dot(p - mean), across.dot(p - mean));
        low = low.cwiseMin(q);
        high = high.cwiseMax(q);
    }
    const double r = 0.5 * (high.y() - low.y());
    if (!(r > 0.5)) return std::nullopt;
    const double half = std::max(0.5 * (high.x() - low.x()) - r, 0.1 * r);
    const Vec2 middle = mean + along * 0.5 * (low.x() + high.x()) + across * 0.5 * (low.y() + high.y());
    return SlotShape::plain(middle - half * along, middle + half * along, r);
}

CourseGuide slotGuide(const SlotShape& shape) {
    // Samples about a pixel apart, with one at each place where a side runs into an end.
    std::vector<CourseSample> samples;
    const std::array<double, 4> piece = {2.0 * shape.half, kPi, 2.0 * shape.half, kPi};
    double from = 0.0;
    for (const double length : piece) {
        const int count = std::max(1, static_cast<int>(std::ceil(length * shape.speed(from + 0.5 * length))));
        for (int i = 0; i < count && length > 1e-6; ++i)
            samples.push_back(shape.at(from + length * i / count));
        from += length;
    }
    return CourseGuide(std::move(samples), true, shape.shape.determinant() < 0.0 ? 1.0 : -1.0);
}

std::array<double, 7> slotModes(const SlotShape& shape, double u) {
    const Row row = rowAt(shape, u, shape.outward(u));
    std::array<double, 7> out{};
    for (int k = 0; k < 7; ++k) out[static_cast<std::size_t>(k)] = row(k);
    out[6] /= shape.size();
    return out;
}

}  // namespace trammel::fit
