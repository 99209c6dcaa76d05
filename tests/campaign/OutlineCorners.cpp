// SPDX-License-Identifier: GPL-3.0-or-later
#include "OutlineCorners.h"

#include <Eigen/LU>
#include <optional>

#include "core/adjust/Covariance.h"

namespace trammel::campaign {
namespace {

std::size_t indexOf(const survey::Survey& s, const survey::Id& id) {
    std::size_t i = 0;
    while (s.features[i].id != id) ++i;
    return i;
}

/// A line through `point` along `direction`, as n · p = d.
struct Line {
    Vec2 n = Vec2::UnitY();
    double d = 0.0;
    Line(const Vec2& point, const Vec2& direction) : n(-direction.y(), direction.x()) {
        n.normalize();
        d = n.dot(point);
    }
};

std::optional<Vec2> meet(const Line& a, const Line& b) {
    Mat2 A;
    A.row(0) = a.n.transpose();
    A.row(1) = b.n.transpose();
    if (std::abs(A.determinant()) < 0.2) return std::nullopt;  // nearly parallel: no corner
    return A.inverse() * Vec2(a.d, b.d);
}

/// Moving an edge's ends by δa, δb across itself moves its line at the corner by (1 − τ) δa + τ δb.
void addEdge(const adjust::Covariance& c, std::size_t feature, const Vec2& corner, double share,
             estimate::Gradient& out) {
    const adjust::FeatureState& f = c.state().features[feature];
    const Vec2 along = f.b - f.a;
    const double tau = along.dot(corner - f.a) / along.squaredNorm();
    out.emplace_back(c.columns().features[feature][0], share * (1 - tau));
    out.emplace_back(c.columns().features[feature][1], share * tau);
}

OutlineCorner cornerOf(const survey::Survey& s, const adjust::Covariance& c, const render::Truth& truth,
                       const survey::Id& first, const survey::Id& second, bool& good) {
    OutlineCorner corner;
    const std::size_t i = indexOf(s, first), k = indexOf(s, second);
    const auto &a = c.state().features[i], &b = c.state().features[k];
    const Line la(a.a, a.b - a.a), lb(b.a, b.b - b.a);
    const auto found = meet(la, lb);
    const auto &ta = truth.features.at(first), &tb = truth.features.at(second);
    const auto real = meet(Line(ta.point.head<2>(), ta.direction), Line(tb.point.head<2>(), tb.direction));
    good = found && real;
    if (!good) return corner;
    corner.found = *found;
    corner.truth = *real - truth.features.at(truth.datumOrigin).point.head<2>();
    Mat2 A;
    A.row(0) = la.n.transpose();
    A.row(1) = lb.n.transpose();
    const Mat2 inverse = A.inverse();
    for (int axis = 0; axis < 2; ++axis) {
        estimate::Gradient g;
        addEdge(c, i, *found, inverse(axis, 0), g);
        addEdge(c, k, *found, inverse(axis, 1), g);
        corner.plusMinus[axis] = 2 * c.sigma(g);
    }
    return corner;
}

}  // namespace

std::vector<OutlineCorner> outlineCorners(const survey::Survey& s, const adjust::Solution& solution,
                                          const render::Truth& truth) {
    std::vector<OutlineCorner> out;
    for (const survey::Outline& o : s.outlines)
        for (std::size_t i = 0; i < o.chain.size(); ++i) {
            const survey::Id &a = o.chain[i], &b = o.chain[(i + 1) % o.chain.size()];
            const survey::Feature *fa = find(s.features, a), *fb = find(s.features, b);
            if (!fa || !fb || a == b || fa->kind != survey::FeatureKind::Edge ||
                fb->kind != survey::FeatureKind::Edge || !solution.features.contains(a) ||
                !solution.features.contains(b))
                continue;
            bool good = false;
            const OutlineCorner corner = cornerOf(s, *solution.covariance, truth, a, b, good);
            if (good) out.push_back(corner);
        }
    return out;
}

}  // namespace trammel::campaign
