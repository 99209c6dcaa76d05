// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Shape.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/adjust/Index.h"
#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;
constexpr double kPi = std::numbers::pi;

Vec2 left(const Vec2& u) { return {-u.y(), u.x()}; }

/// In plan, before the level lifts it.
struct PlanPoint {
    Vec2 X = Vec2::Zero(), tangent = Vec2::Zero(), bend = Vec2::Zero();
};

/// Where on a slot's rim an arc length falls: side a→b, end at b, side b→a, end at a.
struct SlotPlace {
    int piece = 0;
    double along = 0.0;  ///< mm on a side, rad on an end, from the piece's beginning
};

SlotPlace slotPlace(const FeatureState& f, double tau) {
    const double side = (f.b - f.a).norm(), end = kPi * std::abs(f.r), round = 2 * (side + end);
    double s = tau - round * std::floor(tau / round);
    if (s < side) return {0, s};
    s -= side;
    if (s < end) return {1, s / std::abs(f.r)};
    s -= end;
    if (s < side) return {2, s};
    return {3, (s - side) / std::abs(f.r)};
}

PlanPoint slotAt(const FeatureState& f, double tau) {
    const Vec2 u = (f.b - f.a).normalized(), n = left(u);
    const SlotPlace at = slotPlace(f, tau);
    const double r = std::abs(f.r);
    PlanPoint p;
    if (at.piece == 0) {
        p.X = f.a + at.along * u - r * n;
        p.tangent = u;
    } else if (at.piece == 2) {
        p.X = f.b - at.along * u + r * n;
        p.tangent = -u;
    } else {
        const double sign = at.piece == 1 ? 1.0 : -1.0;  // outward direction from −n over u to n, or back
        const Vec2 out = sign * (-std::cos(at.along) * n + std::sin(at.along) * u);
        p.X = (at.piece == 1 ? f.b : f.a) + r * out;
        p.tangent = left(out);
        p.bend = -out / r;
    }
    return p;
}

/// Weights of the four nodes around τ of a uniform cubic B-spline (de Boor 1978): smooth to the second
/// derivative, it passes near its nodes and not through them. An open curve runs straight out of its end
/// nodes.
struct NodeWeights {
    std::array<int, 4> node{};
    std::array<double, 4> value{}, first{}, second{};
};

NodeWeights nodeWeights(const FeatureState& f, double tau) {
    const int n = static_cast<int>(f.nodes.size());
    NodeWeights w;
    int i = static_cast<int>(std::floor(tau));
    if (!f.closed) i = std::clamp(i, 0, n - 2);
    // Beyond its ends an open curve goes on straight.
    const double along = tau - i, t = f.closed ? along : std::clamp(along, 0.0, 1.0), beyond = along - t;
    const double s = 1 - t;
    const std::array<double, 4> b = {s * s * s / 6, (4 - 6 * t * t + 3 * t * t * t) / 6,
                                     (1 + 3 * t + 3 * t * t - 3 * t * t * t) / 6, t * t * t / 6};
    const std::array<double, 4> d = {-s * s / 2, (-4 * t + 3 * t * t) / 2, (1 + 2 * t - 3 * t * t) / 2,
                                     t * t / 2};
    const std::array<double, 4> e = {s, 3 * t - 2, 1 - 3 * t, t};
    w.value = b, w.first = d, w.second = e;
    if (beyond != 0.0)
        for (std::size_t k = 0; k < 4; ++k) w.value[k] += beyond * d[k], w.second[k] = 0.0;
    for (int k = 0; k < 4; ++k) w.node[at(k)] = f.closed ? ((i - 1 + k) % n + n) % n : i - 1 + k;
    if (f.closed) return w;
    // Node −1 = 2·first − second, and likewise behind the last.
    const auto fold = [&](int outside, int nearest, int next) {
        for (auto* weights : {&w.value, &w.first, &w.second}) {
            const double x = (*weights)[at(outside)];
            (*weights)[at(nearest)] += 2 * x;
            (*weights)[at(next)] -= x;
            (*weights)[at(outside)] = 0.0;
        }
        w.node[at(outside)] = w.node[at(nearest)];
    };
    if (w.node[0] < 0) fold(0, 1, 2);
    if (w.node[3] >= n) fold(3, 2, 1);
    return w;
}

PlanPoint freeCurveAt(const FeatureState& f, double tau) {
    const NodeWeights w = nodeWeights(f, tau);
    PlanPoint p;
    for (std::size_t k = 0; k < 4; ++k) {
        const Vec2& node = f.nodes[at(w.node[k])];
        p.X += w.value[k] * node;
        p.tangent += w.first[k] * node;
        p.bend += w.second[k] * node;
    }
    return p;
}

/// Unit normal of a free curve at one of its nodes, from the neighbours' chord.
Vec2 nodeNormal(const FeatureState& f, std::size_t i) {
    const std::size_t n = f.nodes.size();
    const std::size_t before = i > 0 ? i - 1 : (f.closed ? n - 1 : 0);
    const std::size_t after = i + 1 < n ? i + 1 : (f.closed ? 0 : n - 1);
    return left((f.nodes[after] - f.nodes[before]).normalized());
}

CurvePoint lift(const State& state, const FeatureState& f, const PlanPoint& p) {
    const auto l = at(f.level);
    const LevelFormState& form = state.forms[l];
    const Vec2 g = form.gradient(p.X);
    const Vec2& t = p.tangent;
    const double curve =
        2 * (form.bow.x() * t.x() * t.x() + form.bow.y() * t.x() * t.y() + form.bow.z() * t.y() * t.y());
    return {{p.X.x(), p.X.y(), state.levels[l] + form.z(p.X)},
            {t.x(), t.y(), g.dot(t)},
            {p.bend.x(), p.bend.y(), g.dot(p.bend) + curve}};
}

/// Adds the level's own unknowns for a point at xy.
void addLevel(const State& state, const Columns& c, int level, const Vec2& xy, PointDerivatives& out) {
    const auto l = at(level);
    out.add(c.levels[l], Vec3::UnitZ());
    const Vec2 d = xy - state.forms[l].middle;
    const auto& form = c.forms[l];
    const std::array<double, 5> by = {d.x(), d.y(), d.x() * d.x(), d.x() * d.y(), d.y() * d.y()};
    for (std::size_t k = 0; k < 5; ++k) out.add(form[k], by[k] * Vec3::UnitZ());
}

}  // namespace

namespace {

/// Of the middle of an edge or curve.
double middleTau(const FeatureState& f) {
    return f.kind == FeatureKind::Curve ? static_cast<double>(f.nodes.size()) / 2 : 0.5;
}

}  // namespace

double State::z(const FeatureState& f) const { return point(f).z(); }

Vec3 State::point(const FeatureState& f) const {
    if (f.kind == FeatureKind::Edge && f.level < 0)
        return {(f.a.x() + f.b.x()) / 2, (f.a.y() + f.b.y()) / 2, (f.za + f.zb) / 2};
    Vec2 xy = f.p.head<2>();
    if (f.kind == FeatureKind::Edge || f.kind == FeatureKind::Slot) xy = (f.a + f.b) / 2;
    if (f.kind == FeatureKind::Curve && f.nodes.size() > 1) return curveAt(*this, f, middleTau(f)).X;
    return {xy.x(), xy.y(), f.level < 0 ? f.p.z() : zAt(f.level, xy)};
}

Vec3 edgeStart(const State& state, const FeatureState& f) {
    return {f.a.x(), f.a.y(), f.level < 0 ? f.za : state.zAt(f.level, f.a)};
}

Vec3 edgeEnd(const State& state, const FeatureState& f) {
    return {f.b.x(), f.b.y(), f.level < 0 ? f.zb : state.zAt(f.level, f.b)};
}

void edgeFrame(const FeatureState& f, Vec3& n1, Vec3& n2) {
    const Vec3 u = Vec3(f.b.x() - f.a.x(), f.b.y() - f.a.y(), f.zb - f.za).normalized();
    n1 = Vec3::UnitZ().cross(u);
    if (n1.norm() < 0.1) n1 = u.cross(Vec3::UnitX());
    n1.normalize();
    n2 = u.cross(n1);
}

void circleFrame(const FeatureState& f, Vec3& e1, Vec3& e2) {
    const Vec3 n = f.normal.normalized(), aside = std::abs(n.x()) < 0.9 ? Vec3::UnitX() : Vec3::UnitY();
    e1 = (aside - n * n.dot(aside)).normalized();
    e2 = n.cross(e1);
}

CurvePoint curveAt(const State& state, const FeatureState& f, double tau) {
    switch (f.kind) {
        case FeatureKind::Corner:
            return {state.point(f), Vec3::Zero(), Vec3::Zero()};
        case FeatureKind::Edge: {
            const Vec2 along = f.b - f.a;
            if (f.level >= 0) return lift(state, f, {f.a + tau * along, along, Vec2::Zero()});
            const Vec3 a = edgeStart(state, f), d = edgeEnd(state, f) - a;
            return {a + tau * d, d, Vec3::Zero()};
        }
        case FeatureKind::Slot:
            return lift(state, f, slotAt(f, tau));
        case FeatureKind::Curve:
            return lift(state, f, freeCurveAt(f, tau));
        case FeatureKind::Hole:
        case FeatureKind::Arc:
            break;
    }
    const double c = std::cos(tau), s = std::sin(tau);
    if (f.level >= 0) {
        const Vec2 out(c, s);
        return lift(state, f, {f.p.head<2>() + f.r * out, f.r * left(out), -f.r * out});
    }
    Vec3 e1, e2;
    circleFrame(f, e1, e2);
    return {f.p + f.r * (c * e1 + s * e2), f.r * (c * e2 - s * e1), -f.r * (c * e1 + s * e2)};
}

PointDerivatives pointDerivatives(const State& state, const Columns& columns, int feature) {
    const FeatureState& f = state.features[at(feature)];
    const auto& c = columns.features[at(feature)];
    if (f.kind == FeatureKind::Edge || (f.kind == FeatureKind::Curve && f.nodes.size() > 1))
        return derivativesAt(state, columns, feature, middleTau(f), state.point(f));
    PointDerivatives out;
    if (f.level < 0) {
        const bool corner = f.kind == FeatureKind::Corner;
        out.add(c[0], Vec3::UnitX());
        out.add(c[1], Vec3::UnitY());
        out.add(c[corner ? 2 : 3], Vec3::UnitZ());
        return out;
    }
    const Vec2 xy = state.point(f).head<2>(), g = state.forms[at(f.level)].gradient(xy);
    const double half = f.kind == FeatureKind::Slot ? 0.5 : 1.0;
    const Vec3 byX(half, 0.0, half * g.x()), byY(0.0, half, half * g.y());
    out.add(c[0], byX);
    out.add(c[1], byY);
    if (f.kind == FeatureKind::Slot) {
        out.add(c[2], byX);
        out.add(c[3], byY);
    }
    addLevel(state, columns, f.level, xy, out);
    return out;
}

namespace {

/// Takes movements in plan and lifts them onto the level.
struct Lifted {
    PointDerivatives& out;
    Vec2 gradient;
    void add(int column, const Vec2& d) { out.add(column, {d.x(), d.y(), gradient.dot(d)}); }
};

void slotDerivatives(const FeatureState& f, const std::array<int, 6>& c, double tau, Lifted out) {
    const Vec2 d = f.b - f.a;
    const double length = d.norm(), sign = f.r < 0 ? -1.0 : 1.0;
    const Vec2 n = left(d / length);
    const SlotPlace place = slotPlace(f, tau);
    // All five each time, also where one is zero: which unknowns a row names must not depend on the state.
    Vec2 byAx = Vec2::Zero(), byAy = byAx, byBx = byAx, byBy = byAx, byR;
    if (place.piece == 1 || place.piece == 3) {  // an end moves with its centre
        const bool atA = place.piece == 3;
        (atA ? byAx : byBx) = Vec2::UnitX();
        (atA ? byAy : byBy) = Vec2::UnitY();
        byR = sign / std::abs(f.r) * (slotAt(f, tau).X - (atA ? f.a : f.b));
    } else {  // a side moves across as the line through the two centres does
        const double share = place.piece == 0 ? place.along / length : 1 - place.along / length;
        byAx = (1 - share) * n.x() * n;
        byAy = (1 - share) * n.y() * n;
        byBx = share * n.x() * n;
        byBy = share * n.y() * n;
        byR = (place.piece == 0 ? -sign : sign) * n;
    }
    out.add(c[0], byAx);
    out.add(c[1], byAy);
    out.add(c[2], byBx);
    out.add(c[3], byBy);
    out.add(c[4], byR);
}

/// Own unknowns of a feature in its level.
void planDerivatives(const FeatureState& f, const std::array<int, 6>& c, const std::vector<int>& nodes,
                     double tau, Lifted out) {
    if (f.kind == FeatureKind::Edge) {
        const Vec2 across = left((f.b - f.a).normalized());
        out.add(c[0], (1 - tau) * across);
        out.add(c[1], tau * across);
    } else if (f.kind == FeatureKind::Slot) {
        slotDerivatives(f, c, tau, out);
    } else if (f.kind == FeatureKind::Curve) {
        const NodeWeights w = nodeWeights(f, tau);
        for (std::size_t k = 0; k < 4; ++k)
            if (w.value[k] != 0.0) out.add(nodes[at(w.node[k])], w.value[k] * nodeNormal(f, at(w.node[k])));
    } else {
        out.add(c[0], Vec2::UnitX());
        out.add(c[1], Vec2::UnitY());
        out.add(c[2], Vec2(std::cos(tau), std::sin(tau)));
    }
}

void freeDerivatives(const State& state, const FeatureState& f, const std::array<int, 6>& c, double tau,
                     PointDerivatives& out) {
    if (f.kind == FeatureKind::Edge) {
        Vec3 n1, n2;
        edgeFrame(f, n1, n2);
        out.add(c[0], (1 - tau) * n1);
        out.add(c[1], tau * n1);
        out.add(c[2], (1 - tau) * n2);
        out.add(c[3], tau * n2);
        return;
    }
    Vec3 e1, e2;
    circleFrame(f, e1, e2);
    const Vec3 arm = curveAt(state, f, tau).X - f.p;
    out.add(c[0], Vec3::UnitX());
    out.add(c[1], Vec3::UnitY());
    out.add(c[2], arm / f.r);
    out.add(c[3], Vec3::UnitZ());
    out.add(c[4], e1.cross(arm));
    out.add(c[5], e2.cross(arm));
}

}  // namespace

PointDerivatives derivativesAt(const State& state, const Columns& columns, int feature, double tau,
                               const Vec3& X) {
    const FeatureState& f = state.features[at(feature)];
    if (f.kind == FeatureKind::Corner) return pointDerivatives(state, columns, feature);
    PointDerivatives out;
    if (f.level < 0) {
        freeDerivatives(state, f, columns.features[at(feature)], tau, out);
        return out;
    }
    const Vec2 xy = X.head<2>();
    planDerivatives(f, columns.features[at(feature)], columns.nodes[at(feature)], tau,
                    {out, state.forms[at(f.level)].gradient(xy)});
    addLevel(state, columns, f.level, xy, out);
    return out;
}

int ownUnknowns(FeatureKind kind, bool inLevel) {
    switch (kind) {
        case FeatureKind::Corner:
            return inLevel ? 2 : 3;
        case FeatureKind::Edge:
            return inLevel ? 2 : 4;
        case FeatureKind::Hole:
        case FeatureKind::Arc:
            return inLevel ? 3 : 6;
        case FeatureKind::Slot:
            return 5;
        case FeatureKind::Curve:
            return 0;
    }
    return 0;
}

void moveFeature(FeatureState& f, const std::array<double, 6>& own, const VecX& nodes) {
    switch (f.kind) {
        case FeatureKind::Corner:
            f.p += Vec3(own[0], own[1], own[2]);
            break;
        case FeatureKind::Edge:
            if (f.level >= 0) {
                const Vec2 n = left((f.b - f.a).normalized());
                f.a += own[0] * n;
                f.b += own[1] * n;
            } else {
                Vec3 n1, n2;
                edgeFrame(f, n1, n2);
                const Vec3 da = own[0] * n1 + own[2] * n2, db = own[1] * n1 + own[3] * n2;
                f.a += da.head<2>();
                f.b += db.head<2>();
                f.za += da.z();
                f.zb += db.z();
            }
            break;
        case FeatureKind::Slot:
            f.a += Vec2(own[0], own[1]);
            f.b += Vec2(own[2], own[3]);
            f.r += own[4];
            break;
        case FeatureKind::Curve: {
            std::vector<Vec2> normals;
            for (std::size_t i = 0; i < f.nodes.size(); ++i) normals.push_back(nodeNormal(f, i));
            for (std::size_t i = 0; i < f.nodes.size() && static_cast<Eigen::Index>(i) < nodes.size(); ++i)
                f.nodes[i] += nodes[static_cast<Eigen::Index>(i)] * normals[i];
            break;
        }
        case FeatureKind::Hole:
        case FeatureKind::Arc:
            if (f.level < 0) {
                Vec3 e1, e2;
                circleFrame(f, e1, e2);
                f.normal = (rotationExp(own[4] * e1 + own[5] * e2) * f.normal).normalized();
                f.p.z() += own[3];
            }
            f.p.head<2>() += Vec2(own[0], own[1]);
            f.r += own[2];
            break;
    }
}

double nearestTau(const FeatureState& f, const Vec2& xy) {
    if (f.kind == FeatureKind::Edge) return (xy - f.a).dot(f.b - f.a) / (f.b - f.a).squaredNorm();
    if (f.kind == FeatureKind::Hole || f.kind == FeatureKind::Arc) {
        const Vec2 d = xy - f.p.head<2>();
        return std::atan2(d.y(), d.x());
    }
    const bool slot = f.kind == FeatureKind::Slot;
    const double last = slot       ? 2 * ((f.b - f.a).norm() + kPi * std::abs(f.r))
                        : f.closed ? static_cast<double>(f.nodes.size())
                                   : static_cast<double>(f.nodes.size()) - 1.0;
    const int steps = slot ? 64 : 8 * static_cast<int>(f.nodes.size());
    double best = 0.0, least = INFINITY;
    for (int i = 0; i <= steps; ++i) {
        const double tau = last * i / steps;
        const Vec2 X = slot ? slotAt(f, tau).X : freeCurveAt(f, tau).X;
        if ((X - xy).squaredNorm() < least) least = (X - xy).squaredNorm(), best = tau;
    }
    return best;
}

}  // namespace trammel::adjust
