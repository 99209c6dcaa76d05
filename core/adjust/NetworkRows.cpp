// SPDX-License-Identifier: GPL-3.0-or-later
// The observation equations of core/adjust/Network.h: marks, and the order of all rows.
#include <Eigen/LU>
#include <cmath>

#include "core/adjust/CameraColumns.h"
#include "core/adjust/Network.h"
#include "core/adjust/Projection.h"
#include "core/adjust/Shape.h"
#include "core/survey/QuantityCheck.h"

namespace trammel::adjust {
namespace {

using estimate::Rows;
using survey::FeatureKind;

/// A first foot parameter from the affine map at the middle of the curve.
double firstFoot(const GroupState& g, const StationState& s, const State& state, const FeatureState& f,
                 const Vec2& px) {
    const bool edge = f.kind == FeatureKind::Edge;
    const Vec3 middle = edge ? curveAt(state, f, 0.5).X : state.point(f);
    Vec2 u;
    Mat23 J;
    if (!projectPoint(g, s, middle, u, J)) return 0.0;
    if (edge) {
        const Vec2 t = J * curveAt(state, f, 0.5).tangent;
        return 0.5 + t.dot(px - u) / std::max(t.squaredNorm(), 1e-12);
    }
    Vec3 e1 = Vec3::UnitX(), e2 = Vec3::UnitY();
    if (f.level < 0) circleFrame(f, e1, e2);
    Mat2 A;
    A << J * e1, J * e2;
    const double det = A.determinant();
    if (std::abs(det) < 1e-12) return 0.0;
    Mat2 inverse;
    inverse << A(1, 1), -A(0, 1), -A(1, 0), A(0, 0);
    // A circle with r < 0 is the same circle half a turn on; an iteration may end there.
    const bool turned = survey::isRound(f.kind) && f.r < 0;
    const Vec2 d = inverse * (px - u) / (turned ? -det : det);
    return f.level < 0 ? std::atan2(d.y(), d.x()) : nearestTau(f, middle.head<2>() + d);
}

}  // namespace

bool Network::pointRow(const ImagePoint& p, Rows& row, bool derivatives) const {
    const StationState& s = state_.stations[at(p.station)];
    const GroupState& g = state_.groups[at(s.group)];
    const FeatureState& f = state_.features[at(p.feature)];
    row.components = 2;
    Projected proj;
    const Vec3 X = state_.point(f);
    if (derivatives ? !projectPoint(g, s, X, proj) : !projectPoint(g, s, X, proj.u)) return false;
    const double w = 1.0 / p.sigma;
    const Vec2 miss = p.px + s.crop - g.growth * p.growth - proj.u;
    row.e = {miss.x() * w, miss.y() * w};
    if (!derivatives) return true;
    const PointDerivatives by = pointDerivatives(state_, columns_, p.feature);
    for (std::size_t k = 0; k < at(by.count); ++k) {
        const Vec2 d = proj.byPoint * by.byColumn[k] * w;
        row.add(by.column[k], d.x(), d.y());
    }
    addStationColumns(p, proj, Mat2::Identity() * w, true, row);
    return true;
}

void Network::addStationColumns(const ImagePoint& p, const Projected& proj, const Mat2& weigh, bool both,
                                Rows& row) const {
    const auto put = [&](int column, const Vec2& d) {
        const Vec2 v = weigh * d;
        row.add(column, v.x(), both ? v.y() : 0.0);
    };
    forCameraColumns(columns_, state_, p.station, proj, p.growth, put);
}

bool Network::curveRow(const ImagePoint& p, double& foot, Rows& row, bool derivatives) const {
    const StationState& s = state_.stations[at(p.station)];
    const GroupState& g = state_.groups[at(s.group)];
    const FeatureState& f = state_.features[at(p.feature)];
    const Vec2 px = p.px + s.crop - g.growth * p.growth;
    row.components = 1;
    if (f.kind == FeatureKind::Curve && f.nodes.size() < 2) return false;
    double tau = std::isfinite(foot) ? foot : firstFoot(g, s, state_, f, px);
    Vec2 u, tangent;
    CurvePoint c;
    bool fresh = !std::isfinite(foot) || !survey::isRound(f.kind);
    // Foot point: the image of the curve is perpendicular to the miss. Then the change of the normal drops
    // out of the derivative, and the Jacobian below is exact.
    for (int i = 0;; ++i) {
        c = curveAt(state_, f, tau);
        Mat23 J;
        if (!projectPoint(g, s, c.X, u, J)) return false;
        tangent = J * c.tangent;
        const Vec2 miss = px - u;
        const double speed = tangent.squaredNorm();
        if (!(speed > 1e-12)) return false;
        if (!fresh && !(miss.squaredNorm() < 0.05 * speed)) {
            // Far off beside the rim's size: the foot of last time may by now lie on the wrong side of it.
            fresh = true;
            tau = firstFoot(g, s, state_, f, px);
            continue;
        }
        double slope = speed - miss.dot(J * c.bend);
        if (!(slope > 0.2 * speed)) slope = speed;
        const double step = tangent.dot(miss) / slope;
        if (std::abs(step) * std::sqrt(speed) < 1e-9 || i >= 12) break;
        tau += step;
    }
    foot = tau;
    const Vec2 n = Vec2(-tangent.y(), tangent.x()).normalized();
    const double w = 1.0 / p.sigma;
    row.e = {n.dot(px - u) * w, 0.0};
    if (!derivatives) return true;
    Projected proj;
    projectPoint(g, s, c.X, proj);
    const Eigen::RowVector2d nw = n.transpose() * w;
    const Eigen::RowVector3d byX = nw * proj.byPoint;
    const PointDerivatives by = derivativesAt(state_, columns_, p.feature, tau, c.X);
    for (std::size_t k = 0; k < at(by.count); ++k) row.add(by.column[k], byX.dot(by.byColumn[k]));
    Mat2 weigh = Mat2::Zero();
    weigh.row(0) = nw;
    addStationColumns(p, proj, weigh, false, row);
    return true;
}

bool Network::linearise(std::vector<Rows>& rows, bool derivatives) const {
    std::size_t total = points_.size() + readings_.size() + squares_.size() + priors_.size() +
                        mirrors_.size() + crops_.size() + focus_.size();
    for (const NetworkCondition& c : conditions_) total += at(c.components);
    rows.resize(total);
    std::size_t at_row = 0;
    const auto begin = [&](int owner) -> Rows& {
        Rows& row = rows[at_row++];
        if (derivatives) row.count = 0;
        row.active = owners_[at(owner)].active;
        return row;
    };
    for (std::size_t i = 0; i < points_.size(); ++i) {
        const ImagePoint& p = points_[i];
        Rows& row = begin(p.owner);
        const bool corner = state_.features[at(p.feature)].kind == FeatureKind::Corner;
        // A point that cannot be computed matters only when it weighs.
        if (!(corner ? pointRow(p, row, derivatives) : curveRow(p, feet_[i], row, derivatives))) {
            if (row.active) return false;
            row.e = {0.0, 0.0};
        }
    }
    for (const auto& [term, owner, measured] : readings_) {
        Rows& row = begin(owner);
        const QuantityValue q = evaluate(term, state_, columns_);
        row.components = 1;
        row.e = {(measured.value - q.value) / measured.sigma, 0.0};
        if (derivatives)
            for (const auto& [column, d] : q.gradient)
                // What touches one feature may touch an eliminated block, whose columns must stay.
                if (d != 0.0 || term.objects.size() == 1) row.add(column, d / measured.sigma);
    }
    const auto prior = [&](int owner) -> Rows& {
        Rows& row = begin(owner);
        row.count = 0;
        return row;
    };
    for (const auto& [station, owner] : squares_) squareRow(station, prior(owner));
    for (const auto& [group, constant, owner] : priors_) priorRow(group, constant, prior(owner));
    for (const NetworkCondition& c : conditions_)
        for (const QuantityValue& miss : evaluate(c.term, state_, columns_)) {
            Rows& row = prior(c.owner);
            row.components = 1;
            row.e = {-miss.value / c.sigma, 0.0};
            for (const auto& [column, d] : miss.gradient)
                if (d != 0.0) row.add(column, d / c.sigma);
        }
    for (std::size_t i = 0; i < mirrors_.size(); ++i) mirrorRow(i, prior(mirrors_[i].second));
    for (const auto& [station, owner] : crops_) cropRow(station, prior(owner));
    for (const FocusPair& pair : focus_) focusRow(pair, prior(pair.owner));
    return true;
}

}  // namespace trammel::adjust
