// SPDX-License-Identifier: GPL-3.0-or-later
// The observation equations of core/adjust/Network.h, one function each.
#include <Eigen/LU>
#include <cmath>

#include "core/adjust/Network.h"
#include "core/adjust/Projection.h"
#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

using estimate::Rows;
using survey::ConstantMode;
using survey::FeatureKind;

/// A point of the curve at parameter τ, its tangent dX/dτ and curvature d²X/dτ².
struct CurvePoint {
    Vec3 X, tangent, bend;
};

CurvePoint onCurve(const FeatureState& f, double z, double tau) {
    if (f.kind == FeatureKind::Edge) {
        const Vec2 along = f.b - f.a, p = f.a + tau * along;
        return {{p.x(), p.y(), z}, {along.x(), along.y(), 0.0}, Vec3::Zero()};
    }
    const double c = std::cos(tau), s = std::sin(tau);
    return {{f.p.x() + f.r * c, f.p.y() + f.r * s, z}, {-f.r * s, f.r * c, 0.0}, {-f.r * c, -f.r * s, 0.0}};
}

/// A first foot parameter from the affine map at the middle of the curve.
double firstFoot(const GroupState& g, const StationState& s, const FeatureState& f, double z,
                 const Vec2& px) {
    const bool edge = f.kind == FeatureKind::Edge;
    const CurvePoint middle = edge ? onCurve(f, z, 0.5) : CurvePoint{{f.p.x(), f.p.y(), z}, {}, {}};
    Vec2 u;
    Mat23 J;
    if (!projectPoint(g, s, middle.X, u, J)) return 0.0;
    if (edge) {
        const Vec2 t = J * middle.tangent;
        return 0.5 + t.dot(px - u) / std::max(t.squaredNorm(), 1e-12);
    }
    const Mat2 A = J.leftCols<2>();
    const double det = A.determinant();
    if (std::abs(det) < 1e-12) return 0.0;
    Mat2 inverse;
    inverse << A(1, 1), -A(0, 1), -A(1, 0), A(0, 0);
    const Vec2 d = inverse * (px - u) / (f.r < 0 ? -det : det);
    return std::atan2(d.y(), d.x());
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
    row.e = {(p.px.x() - proj.u.x()) * w, (p.px.y() - proj.u.y()) * w};
    if (!derivatives) return true;
    const auto& cf = columns_.features[at(p.feature)];
    for (int k = 0; k < 2; ++k) row.add(cf[at(k)], proj.byPoint(0, k) * w, proj.byPoint(1, k) * w);
    row.add(f.level >= 0 ? columns_.levels[at(f.level)] : cf[2], proj.byPoint(0, 2) * w,
            proj.byPoint(1, 2) * w);
    addStationColumns(p, proj, Mat2::Identity() * w, true, row);
    return true;
}

void Network::addStationColumns(const ImagePoint& p, const Projected& proj, const Mat2& weigh, bool both,
                                Rows& row) const {
    const auto put = [&](int column, const Vec2& d) {
        const Vec2 v = weigh * d;
        row.add(column, v.x(), both ? v.y() : 0.0);
    };
    const auto& cs = columns_.stations[at(p.station)];
    for (int k = 0; k < 3; ++k) put(cs[at(k)], proj.byRotation.col(k));
    put(cs[3], proj.byLnScale);
    put(cs[4], proj.byG.col(0));
    put(cs[5], proj.byG.col(1));
    const int group = state_.stations[at(p.station)].group;
    const auto& cg = columns_.groups[at(group)];
    Vec2 byKappa = proj.byLnKappa;
    const GroupState& g = state_.groups[at(group)];
    // Constants fixed in the normalised sense scale with c: K = k (ρκ)^power.
    for (int k = 0; k < 5; ++k)
        if (cg[at(3 + k)] < 0) byKappa += proj.byBrown.col(k) * (kBrownPower[at(k)] * g.K[at(k)]);
    put(cg[0], byKappa);
    put(cg[1], proj.byPp.col(0));
    put(cg[2], proj.byPp.col(1));
    for (int k = 0; k < 5; ++k) put(cg[at(3 + k)], proj.byBrown.col(k));
}

bool Network::curveRow(const ImagePoint& p, double& foot, Rows& row, bool derivatives) const {
    const StationState& s = state_.stations[at(p.station)];
    const GroupState& g = state_.groups[at(s.group)];
    const FeatureState& f = state_.features[at(p.feature)];
    const double z = state_.z(f);
    row.components = 1;
    double tau = std::isfinite(foot) ? foot : firstFoot(g, s, f, z, p.px);
    Vec2 u, tangent;
    CurvePoint c;
    bool fresh = !std::isfinite(foot) || f.kind == FeatureKind::Edge;
    // Foot point: the image of the curve is perpendicular to the miss. Then the change of the normal drops
    // out of the derivative, and the Jacobian below is exact.
    for (int i = 0;; ++i) {
        c = onCurve(f, z, tau);
        Mat23 J;
        if (!projectPoint(g, s, c.X, u, J)) return false;
        tangent = J * c.tangent;
        const Vec2 miss = p.px - u;
        const double speed = tangent.squaredNorm();
        if (!(speed > 1e-12)) return false;
        if (!fresh && !(miss.squaredNorm() < 0.05 * speed)) {
            // Far off beside the rim's size: the foot of last time may by now lie on the wrong side of it.
            fresh = true;
            tau = firstFoot(g, s, f, z, p.px);
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
    row.e = {n.dot(p.px - u) * w, 0.0};
    if (!derivatives) return true;
    Projected proj;
    projectPoint(g, s, c.X, proj);
    const Eigen::RowVector2d nw = n.transpose() * w;
    const Eigen::RowVector3d byX = nw * proj.byPoint;
    const auto& cf = columns_.features[at(p.feature)];
    if (f.kind == FeatureKind::Edge) {
        const Vec2 along = (f.b - f.a).normalized(), across(-along.y(), along.x());
        const double d = byX.head<2>().dot(across);
        row.add(cf[0], d * (1 - tau));
        row.add(cf[1], d * tau);
    } else {
        row.add(cf[0], byX[0]);
        row.add(cf[1], byX[1]);
        row.add(cf[2], byX[0] * std::cos(tau) + byX[1] * std::sin(tau));
    }
    row.add(columns_.levels[at(f.level)], byX[2]);
    Mat2 weigh = Mat2::Zero();
    weigh.row(0) = nw;
    addStationColumns(p, proj, weigh, false, row);
    return true;
}

void Network::squareRow(int station, Rows& row) const {
    const survey::Station& s = survey_->stations[at(station)];
    const Mat3 turn = rotationExp(Vec3(0, 0, state_.azimuth));
    const Mat3 V = survey::squareRotation(s.view);
    const Mat3 A = state_.stations[at(station)].R * turn * V.transpose();
    const Mat3 byAzimuth = state_.stations[at(station)].R * turn * skew(Vec3::UnitZ()) * V.transpose();
    const double w = 1.0 / s.squareSigma_rad;
    row.components = 2;
    row.e = {-A(2, 0) * w, -A(2, 1) * w};
    const auto& cs = columns_.stations[at(station)];
    // Left increment φ turns the axis (row 2 of R): δA(2,j) = φx A(1,j) − φy A(0,j).
    row.add(cs[0], A(1, 0) * w, A(1, 1) * w);
    row.add(cs[1], -A(0, 0) * w, -A(0, 1) * w);
    row.add(columns_.azimuth, byAzimuth(2, 0) * w, byAzimuth(2, 1) * w);
}

void Network::priorRow(int group, int constant, Rows& row) const {
    const survey::CameraGroup& d = survey_->groups[at(group)];
    const GroupState& g = state_.groups[at(group)];
    const auto& c = columns_.groups[at(group)];
    row.components = 1;
    const auto set = [&row](const survey::Constant& prior, double value) {
        row.e = {(prior.value - value) / prior.sigma, 0.0};
        return 1.0 / prior.sigma;
    };
    if (constant == 0) {
        // In ln c: a principal distance is doubtful in proportion, and the equation stays linear.
        const double relative = d.principalDistance.sigma / d.principalDistance.value;
        row.e = {(std::log(d.principalDistance.value) + g.lnKappa) / relative, 0.0};
        row.add(c[0], -1.0 / relative);
    } else if (constant <= 2) {
        const double w = set(constant == 1 ? d.principalX : d.principalY, g.pp[constant - 1]);
        row.add(c[at(constant)], w);
    } else {
        const std::array<const survey::Constant*, 5> all = {&d.k1, &d.k2, &d.k3, &d.p1, &d.p2};
        const std::size_t k = at(constant - 3);
        const double unit = std::pow(g.rho * std::exp(g.lnKappa), kBrownPower[k]);
        const double value = g.K[k] / unit, w = set(*all[k], value);
        row.add(c[at(constant)], w / unit);
        row.add(c[0], -w * kBrownPower[k] * value);
    }
}

bool Network::linearise(std::vector<Rows>& rows, bool derivatives) const {
    const std::size_t total = points_.size() + readings_.size() + squares_.size() + priors_.size();
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
            for (const auto& [column, d] : q.gradient) row.add(column, d / measured.sigma);
    }
    for (const auto& [station, owner] : squares_) {
        Rows& row = begin(owner);
        row.count = 0;
        squareRow(station, row);
    }
    for (const auto& [group, constant, owner] : priors_) {
        Rows& row = begin(owner);
        row.count = 0;
        priorRow(group, constant, row);
    }
    return true;
}

}  // namespace trammel::adjust
