// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/State.h"

#include <cmath>

#include "core/adjust/Shape.h"
#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

double entry(const VecX& delta, int column) { return column < 0 ? 0.0 : delta[column]; }

const survey::Constant& brown(const survey::CameraGroup& g, std::size_t i) {
    const std::array<const survey::Constant*, 5> all = {&g.k1, &g.k2, &g.k3, &g.p1, &g.p2};
    return *all[i];
}

}  // namespace

camera::Constants GroupState::constants() const {
    camera::Constants k;
    k.c = std::exp(-lnKappa);
    k.pp = pp;
    const double s = rho / k.c;
    k.k1 = K[0] / (s * s);
    k.k2 = K[1] / std::pow(s, 4);
    k.k3 = K[2] / std::pow(s, 6);
    k.p1 = K[3] / s;
    k.p2 = K[4] / s;
    return k;
}

camera::Pose State::pose(const StationState& s) const {
    const GroupState& group = groups[static_cast<std::size_t>(s.group)];
    const double m = std::exp(s.lnScale);
    camera::Pose pose;
    pose.R = s.R;
    pose.t.head<2>() = (s.g - group.pp) / m;
    pose.t.z() = 1.0 / (std::exp(group.lnKappa) * m);
    return pose;
}

void refreshFixed(GroupState& group, const survey::CameraGroup& definition) {
    const double s = group.rho * std::exp(group.lnKappa);
    for (std::size_t i = 0; i < 5; ++i)
        if (brown(definition, i).mode == survey::ConstantMode::Fixed)
            group.K[i] = brown(definition, i).value * std::pow(s, kBrownPower[i]);
}

void move(State& state, const Columns& c, const VecX& delta) {
    for (std::size_t i = 0; i < state.groups.size(); ++i) {
        GroupState& g = state.groups[i];
        g.lnKappa += entry(delta, c.groups[i][0]);
        g.pp += Vec2(entry(delta, c.groups[i][1]), entry(delta, c.groups[i][2]));
        for (std::size_t k = 0; k < 5; ++k) g.K[k] += entry(delta, c.groups[i][3 + k]);
        g.pupil += entry(delta, c.groups[i][8]);
        g.growth += entry(delta, c.groups[i][9]);
    }
    for (std::size_t i = 0; i < state.stations.size(); ++i) {
        StationState& s = state.stations[i];
        const auto& col = c.stations[i];
        const Vec3 w(entry(delta, col[0]), entry(delta, col[1]), entry(delta, col[2]));
        s.R = nearestRotation(rotationExp(w) * s.R);
        s.lnScale += entry(delta, col[3]);
        s.g += Vec2(entry(delta, col[4]), entry(delta, col[5]));
        s.crop += Vec2(entry(delta, col[6]), entry(delta, col[7]));
    }
    for (std::size_t i = 0; i < state.levels.size(); ++i) {
        state.levels[i] += entry(delta, c.levels[i]);
        const auto& f = c.forms[i];
        state.forms[i].slope += Vec2(entry(delta, f[0]), entry(delta, f[1]));
        state.forms[i].bow += Vec3(entry(delta, f[2]), entry(delta, f[3]), entry(delta, f[4]));
    }
    for (std::size_t i = 0; i < state.features.size(); ++i) {
        std::array<double, 6> own{};
        for (std::size_t k = 0; k < 6; ++k) own[k] = entry(delta, c.features[i][k]);
        VecX nodes(static_cast<Eigen::Index>(c.nodes[i].size()));
        for (Eigen::Index k = 0; k < nodes.size(); ++k)
            nodes[k] = entry(delta, c.nodes[i][static_cast<std::size_t>(k)]);
        moveFeature(state.features[i], own, nodes);
    }
    state.azimuth += entry(delta, c.azimuth);
}

void moveDatum(State& state, const Vec2& origin, double angle) {
    const Vec3 o(origin.x(), origin.y(), 0.0);
    const Mat3 turn = rotationExp(Vec3(0, 0, -angle));
    for (FeatureState& f : state.features) {
        f.p = turn * (f.p - o);
        f.a = turn.topLeftCorner<2, 2>() * (f.a - origin);
        f.b = turn.topLeftCorner<2, 2>() * (f.b - origin);
        f.normal = turn * f.normal;
        for (Vec2& node : f.nodes) node = turn.topLeftCorner<2, 2>() * (node - origin);
    }
    for (LevelFormState& form : state.forms) {
        const Mat2 T = turn.topLeftCorner<2, 2>();
        Mat2 Q;
        Q << form.bow.x(), form.bow.y() / 2, form.bow.y() / 2, form.bow.z();
        Q = T * Q * T.transpose();
        form.middle = T * (form.middle - origin);
        form.slope = T * form.slope;
        form.bow = Vec3(Q(0, 0), 2 * Q(0, 1), Q(1, 1));
    }
    for (StationState& s : state.stations) {
        const GroupState& group = state.groups[static_cast<std::size_t>(s.group)];
        const double m = std::exp(s.lnScale);
        const Vec3 shift = s.R * o;
        const double w = 1.0 + std::exp(group.lnKappa) * m * shift.z();
        s.g = (m * shift.head<2>() + s.g - group.pp) / w + group.pp;
        s.lnScale -= std::log(w);
        s.R = s.R * turn.transpose();
    }
    state.azimuth -= angle;
}

void rescale(State& state, double f) {
    for (FeatureState& feature : state.features) {
        feature.p *= f;
        feature.r *= f;
        feature.a *= f;
        feature.b *= f;
        feature.za *= f;
        feature.zb *= f;
        for (Vec2& node : feature.nodes) node *= f;
    }
    for (LevelFormState& form : state.forms) {
        form.middle *= f;
        form.bow /= f;
    }
    for (double& z : state.levels) z *= f;
    for (StationState& s : state.stations) s.lnScale -= std::log(f);
}

}  // namespace trammel::adjust
