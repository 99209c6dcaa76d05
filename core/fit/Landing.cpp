// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Landing.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "core/math/Statistics.h"

namespace trammel::fit {
namespace {

using survey::FeatureKind;
using survey::MarkPoint;

constexpr double kOneEdge_px = 1.0;  ///< two lines nearer than this are one edge of the picture

/// A line through points, between them bent as its neighbours say.
class ExpectedLine {
  public:
    ExpectedLine(const std::vector<MarkPoint>& points, bool round) : points_(points), round_(round) {}

    struct Foot {
        double distance = 0.0, sigma = 0.0;
        bool inside = false;  ///< not beyond an open line's ends
    };

    std::optional<Foot> foot(const Vec2& p) const {
        const std::size_t n = points_.size(), pieces = n < 2 ? 0 : round_ ? n : n - 1;
        std::optional<Foot> best;
        double nearest = 0.0;
        for (std::size_t i = 0; i < pieces; ++i) {
            const Vec2 a = at(i), ab = at(i + 1) - a;
            const double size = ab.squaredNorm();
            if (!(size > 0.0)) continue;
            const double t = ab.dot(p - a) / size, within = std::clamp(t, 0.0, 1.0);
            const Vec2 bend = bendOf(i), on = a + within * ab - 0.5 * within * (1.0 - within) * bend;
            const Vec2 across = Vec2(-ab.y(), ab.x()).normalized();
            Foot f;
            f.distance = std::abs(across.dot(p - on));
            f.inside = round_ || ((i > 0 || t > -0.02) && (i + 1 < pieces || t < 1.02));
            f.sigma = (1.0 - within) * sigma(i) + within * sigma(i + 1);
            const double reach = (p - on).norm();
            if (!best || reach < nearest) {
                best = f;
                nearest = reach;
            }
        }
        return best;
    }

  private:
    Vec2 at(std::size_t i) const { return points_[i % points_.size()].px; }
    double sigma(std::size_t i) const { return points_[i % points_.size()].sigma_px; }
    /// Second difference of the line over one piece.
    Vec2 bendOf(std::size_t i) const {
        const std::size_t n = points_.size();
        if (n < 4) return Vec2::Zero();
        const auto second = [&](std::size_t k) -> Vec2 {
            return at(k + n - 1) - 2.0 * at(k + n) + at(k + n + 1);
        };
        if (round_) return 0.5 * (second(i) + second(i + 1));
        return second(std::clamp<std::size_t>(i, 1, n - 2));
    }

    const std::vector<MarkPoint>& points_;
    bool round_;
};

bool runsRound(FeatureKind kind) { return kind == FeatureKind::Hole || kind == FeatureKind::Slot; }

/// In how many ways a line of this kind can miss.
double waysOf(FeatureKind kind) {
    switch (kind) {
        case FeatureKind::Corner:
            return 1;
        case FeatureKind::Edge:
            return 2;
        case FeatureKind::Hole:
        case FeatureKind::Arc:
            return 3;
        case FeatureKind::Slot:
            return 5;
        case FeatureKind::Curve:
            return 8;
    }
    return 8;
}

}  // namespace

bool alike(FeatureKind a, FeatureKind b) { return (a == FeatureKind::Corner) == (b == FeatureKind::Corner); }

Miss missOf(const std::vector<MarkPoint>& points, const survey::Prediction& expected, FeatureKind kind,
            double least_px) {
    Miss out;
    if (points.empty() || expected.points.empty()) return out;
    if (kind == FeatureKind::Corner) {
        const Vec2 d = points.front().px - expected.points.front().px;
        Mat2 S = expected.covariance;
        S += (least_px * least_px + points.front().sigma_px * points.front().sigma_px) * Mat2::Identity();
        const double det = S.determinant();
        if (!(det > 0.0)) return out;
        const double square =
            (S(1, 1) * d.x() * d.x() - 2 * S(0, 1) * d.x() * d.y() + S(0, 0) * d.y() * d.y()) / det;
        return {1, std::sqrt(square), stats::chiSquareUpperTail(square, 2.0)};
    }
    const ExpectedLine course(expected.points, runsRound(kind));
    for (const MarkPoint& p : points) {
        const auto foot = course.foot(p.px);
        if (!foot || !foot->inside) continue;
        ++out.points;
        out.worst = std::max(out.worst, foot->distance / std::hypot(foot->sigma, least_px, p.sigma_px));
    }
    const double ways = std::min(waysOf(kind), static_cast<double>(std::max(out.points, 1)));
    out.chance = std::min(1.0, ways * 2.0 * stats::normalUpperTail(out.worst));
    return out;
}

bool sameEdge(const survey::Mark& a, FeatureKind kindOfA, const survey::Mark& b, FeatureKind kindOfB) {
    if (!alike(kindOfA, kindOfB) || a.points.empty() || b.points.empty()) return false;
    if (kindOfA == FeatureKind::Corner) {
        const MarkPoint &p = a.points.front(), &q = b.points.front();
        return (p.px - q.px).norm() < std::max(kOneEdge_px, 3.0 * std::hypot(p.sigma_px, q.sigma_px));
    }
    const auto shared = [](const survey::Mark& on, const survey::Mark& of, FeatureKind kind) {
        const ExpectedLine course(of.points, runsRound(kind));
        int beside = 0, near = 0;
        for (const MarkPoint& p : on.points) {
            const auto foot = course.foot(p.px);
            if (!foot || !foot->inside) continue;
            ++beside;
            near += foot->distance < std::max(kOneEdge_px, 3.0 * std::hypot(foot->sigma, p.sigma_px));
        }
        return near >= 2 && 2 * near > beside;
    };
    return shared(a, b, kindOfB) || shared(b, a, kindOfA);
}

}  // namespace trammel::fit
