// SPDX-License-Identifier: GPL-3.0-or-later
// The observation equations of core/adjust/Network.h that concern cameras alone.
#include <algorithm>
#include <cmath>

#include "core/adjust/Network.h"
#include "core/adjust/NetworkConstants.h"
#include "core/adjust/Projection.h"
#include "core/math/Rotation.h"

namespace trammel::adjust {

using estimate::Rows;

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
    } else if (constant == 8) {
        row.add(c[8], set(d.pupil, g.pupil));
    } else if (constant == 9) {
        row.add(c[9], set(d.lightGrowth, g.growth));
    } else {
        const std::array<const survey::Constant*, 5> all = {&d.k1, &d.k2, &d.k3, &d.p1, &d.p2};
        const std::size_t k = at(constant - 3);
        const double unit = std::pow(g.rho * std::exp(g.lnKappa), kBrownPower[k]);
        const double value = g.K[k] / unit, w = set(*all[k], value);
        row.add(c[at(constant)], w / unit);
        row.add(c[0], -w * kBrownPower[k] * value);
    }
}

/// The lens is seen along the mirror's normal: its image is the vanishing point of the view's direction.
void Network::mirrorRow(std::size_t mirror, Rows& row) const {
    const int station = mirrors_[mirror].first;
    const survey::Station& s = survey_->stations[at(station)];
    const StationState& st = state_.stations[at(station)];
    const GroupState& g = state_.groups[at(st.group)];
    const Mat3 turn = rotationExp(Vec3(0, 0, state_.azimuth));
    const Vec3 axis = survey::squareRotation(s.view).transpose() * Vec3::UnitZ();
    const Vec3 a = st.R * turn * axis, byAzimuth = st.R * turn * skew(Vec3::UnitZ()) * axis;
    ProjectedDirection proj;
    row.components = 2;
    row.e = {0.0, 0.0};
    if (!projectDirection(g, a, proj)) {  // looks away from its view: the marks will say so
        row.active = false;
        return;
    }
    double& sigma = mirrorSigma_[mirror];
    if (!std::isfinite(sigma))
        sigma = std::hypot(s.mirror->sigma_px, s.mirror->seat_rad * std::exp(-g.lnKappa));
    const double w = 1.0 / sigma;
    const Vec2 miss = s.mirror->px + firstOffset(s.photo) + st.crop - proj.u;
    row.e = {miss.x() * w, miss.y() * w};
    const auto put = [&](int column, const Vec2& d) { row.add(column, d.x() * w, d.y() * w); };
    const Mat23 byRotation = -proj.byDirection * skew(a);
    const auto& cs = columns_.stations[at(station)];
    const auto& cg = columns_.groups[at(st.group)];
    for (int k = 0; k < 3; ++k) put(cs[at(k)], byRotation.col(k));
    put(cs[6], -Vec2::UnitX());
    put(cs[7], -Vec2::UnitY());
    put(columns_.azimuth, proj.byDirection * byAzimuth);
    Vec2 byKappa = proj.byLnKappa;
    for (int k = 0; k < 5; ++k)
        if (cg[at(3 + k)] < 0) byKappa += proj.byBrown.col(k) * (kBrownPower[at(k)] * g.K[at(k)]);
    put(cg[0], byKappa);
    put(cg[1], Vec2::UnitX());
    put(cg[2], Vec2::UnitY());
    for (int k = 0; k < 5; ++k) put(cg[at(3 + k)], proj.byBrown.col(k));
}

/// Anywhere inside the full frame, as likely here as there: the σ of an even spread is its width / √12.
void Network::cropRow(int station, Rows& row) const {
    const survey::Photo& p = survey_->stations[at(station)].photo;
    const Vec2 room(p.crop.fullWidth - p.width, p.crop.fullHeight - p.height);
    row.components = 0;
    row.e = {0.0, 0.0};
    for (int k = 0; k < 2; ++k) {
        if (!(room[k] > 0)) continue;
        const double w = std::sqrt(12.0) / room[k];
        const bool first = row.components++ == 0;
        row.e[first ? 0 : 1] = -state_.stations[at(station)].crop[k] * w;
        row.add(columns_.stations[at(station)][at(6 + k)], first ? w : 0.0, first ? 0.0 : w);
    }
}

/// ln f of both groups agree, with c = f (1 + m) / pitch (unit focusing; practice of close-range work).
void Network::focusRow(const FocusPair& pair, Rows& row) const {
    const survey::CameraGroup& group = survey_->groups[at(pair.group)];
    const double w = 1.0 / group.focusSigma;
    row.components = 1;
    double miss = 0.0;
    const auto side = [&](int g, int station, double sign) {
        const double pitch = survey_->groups[at(g)].pixelPitch_mm;
        const double m = pitch * std::exp(state_.stations[at(station)].lnScale);
        miss += sign * (std::log(pitch) - state_.groups[at(g)].lnKappa - std::log1p(m));
        row.add(columns_.groups[at(g)][0], -sign * w);
        row.add(columns_.stations[at(station)][3], -sign * m / (1 + m) * w);
    };
    side(pair.group, pair.station, 1.0);
    side(pair.other, pair.otherStation, -1.0);
    row.e = {-miss * w, 0.0};
}

}  // namespace trammel::adjust
