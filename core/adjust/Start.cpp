// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Start.h"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <Eigen/QR>
#include <Eigen/SVD>
#include <algorithm>
#include <cmath>

#include "core/adjust/StartLinear.h"
#include "core/adjust/StartPlane.h"
#include "core/adjust/StartShape.h"
#include "core/math/Rotation.h"

namespace trammel::adjust {
namespace {

using survey::FeatureKind;
using survey::View;

/// Camera constants from the survey's values; what is unknown gets a plain guess that the data then move.
void startGroups(Network& n) {
    State& state = n.state();
    for (std::size_t i = 0; i < state.groups.size(); ++i) {
        const survey::CameraGroup& d = n.survey().groups[i];
        double width = 0.0, height = 0.0;
        for (const survey::Station& s : n.survey().stations)
            if (s.group == d.id && width == 0.0) {
                const bool full = s.photo.crop.fullWidth > 0;
                width = full ? s.photo.crop.fullWidth : s.photo.width;
                height = full ? s.photo.crop.fullHeight : s.photo.height;
            }
        if (!(width > 0 && height > 0)) {  // marks alone: their extent must do
            for (const ImagePoint& p : n.points()) {
                width = std::max(width, p.px.x());
                height = std::max(height, p.px.y());
            }
        }
        GroupState& g = state.groups[i];
        g.rho = std::max(1.0, std::hypot(width, height) / 2);
        const double c =
            d.principalDistance.value > 0 ? d.principalDistance.value : 3.0 * std::max(width, height);
        g.lnKappa = -std::log(c);
        const bool given = d.principalX.value != 0.0 || d.principalY.value != 0.0;
        g.pp = given ? Vec2(d.principalX.value, d.principalY.value) : Vec2((width - 1) / 2, (height - 1) / 2);
        const std::array<const survey::Constant*, 5> all = {&d.k1, &d.k2, &d.k3, &d.p1, &d.p2};
        for (std::size_t k = 0; k < 5; ++k) g.K[k] = all[k]->value * std::pow(g.rho / c, kBrownPower[k]);
    }
}

/// Affine resection of one station from features known in space. False when they do not span space.
bool resect(Network& n, const std::vector<Sighting>& seen, int station, const Known& known) {
    std::vector<const Sighting*> usable;
    for (const Sighting& s : seen)
        if (s.station == station && known.featureSpace[at(s.feature)]) usable.push_back(&s);
    if (usable.size() < 4) return false;
    State& state = n.state();
    MatX A(static_cast<Eigen::Index>(usable.size()), 4);
    MatX b(A.rows(), 2);
    double size = 0.0;
    for (std::size_t i = 0; i < usable.size(); ++i) {
        const Vec3 X = state.point(state.features[at(usable[i]->feature)]);
        A.row(static_cast<Eigen::Index>(i)) << X.transpose(), 0.0;
        b.row(static_cast<Eigen::Index>(i)) = usable[i]->px.transpose();
        size = std::max(size, X.norm());
    }
    A.col(3).setConstant(std::max(size, 1e-9));
    const Eigen::JacobiSVD<MatX> svd(A, Eigen::ComputeThinU | Eigen::ComputeThinV);
    if (!(svd.singularValues()[3] > 0.01 * svd.singularValues()[0])) return false;  // nearly one plane
    const MatX x = svd.solve(b);
    const Vec3 r0 = x.col(0).head<3>(), r1 = x.col(1).head<3>();
    Mat3 M;
    M.row(0) = r0;
    M.row(1) = r1;
    M.row(2) = r0.cross(r1) / std::sqrt(std::max(r0.norm() * r1.norm(), 1e-300));
    StationState& s = state.stations[at(station)];
    s.R = nearestRotation(M);
    s.lnScale = std::log((r0.norm() + r1.norm()) / 2);
    s.g = x.row(3).transpose() * std::max(size, 1e-9);
    return true;
}

/// Orients the oblique stations that see enough of what is known, then finds what they add; repeats.
void orientObliques(Network& n, const std::vector<Sighting>& seen, const std::vector<bool>& used,
                    Known& known) {
    const std::vector<bool> none(used.size(), false);
    for (bool progress = true; progress;) {
        progress = false;
        for (std::size_t s = 0; s < used.size(); ++s)
            if (used[s] && !known.station[s] && resect(n, seen, static_cast<int>(s), known))
                known.station[s] = progress = true;
        if (!progress) break;
        std::vector<Sighting> oriented;
        for (const Sighting& s : seen)
            if (known.station[at(s.station)]) oriented.push_back(s);
        solveLinear(n, oriented, none, known);
    }
}

/// Scale from the readings: the median of measured over computed.
Result<void> scaleByReadings(Network& n) {
    std::vector<double> ratios;
    for (const bool tapes : {false, true}) {  // a tape, the roughest, only where nothing else is there
        if (!ratios.empty()) break;
        for (const auto& [term, owner, measured] : n.readings()) {
            if (!n.owners()[at(owner)].active || (term.quantity == survey::Quantity::Tape) != tapes ||
                term.quantity == survey::Quantity::Angle)
                continue;
            const double computed = evaluate(term, n.state(), n.columns()).value;
            if (std::abs(computed) > 1e-9 && measured.value / computed > 0)
                ratios.push_back(measured.value / computed);
        }
    }
    if (ratios.empty())
        return Error{ErrorCode::RankDefect, "nothing sets the scale", "survey",
                     "add a reference length or a caliper reading between two marked features"};
    std::nth_element(ratios.begin(), ratios.begin() + static_cast<std::ptrdiff_t>(ratios.size() / 2),
                     ratios.end());
    rescale(n.state(), ratios[ratios.size() / 2]);
    return {};
}

void startDatum(Network& n) {
    State& state = n.state();
    const FeatureState& d = state.features[at(n.directionFeature())];
    const Vec2 origin = state.features[at(n.originFeature())].p.head<2>();
    Vec2 along = d.kind == FeatureKind::Edge ? Vec2(d.b - d.a) : Vec2(d.p.head<2>() - origin);
    if (d.kind == FeatureKind::Edge && along.x() < 0) along = -along;
    moveDatum(state, origin, std::atan2(along.y(), along.x()));
    FeatureState& o = state.features[at(n.originFeature())];
    o.p.head<2>().setZero();
    FeatureState& direction = state.features[at(n.directionFeature())];
    if (direction.kind == FeatureKind::Edge) {
        const double y = (direction.a.y() + direction.b.y()) / 2;
        direction.a.y() = direction.b.y() = y;
    } else {
        direction.p.y() = 0.0;
    }
}

Error sharesTooLittle(const Network& n, std::size_t station) {
    return {ErrorCode::NotConnected, "shares too few marked features with the other photographs",
            describe(n.survey(), n.survey().stations[station].id),
            "mark at least four features in it, on two levels, that are marked elsewhere too"};
}

/// Each photograph must be reachable from the first through common features or levels.
Result<void> checkConnected(const Network& n, const std::vector<bool>& used) {
    const std::size_t stations = used.size();
    const State& state = n.state();
    std::vector<bool> reached(stations, false), feature(state.features.size(), false);
    std::size_t first = stations;
    for (std::size_t s = 0; s < stations && first == stations; ++s)
        if (used[s]) first = s;
    if (first == stations)
        return Error{ErrorCode::NotConnected, "no photograph has a mark", "survey",
                     "mark features in photographs"};
    reached[first] = true;
    for (bool progress = true; progress;) {
        progress = false;
        for (const ImagePoint& p : n.points()) {
            if (!n.owners()[at(p.owner)].active) continue;
            if (reached[at(p.station)] && !feature[at(p.feature)]) feature[at(p.feature)] = progress = true;
            if (feature[at(p.feature)] && !reached[at(p.station)]) reached[at(p.station)] = progress = true;
        }
    }
    for (std::size_t s = 0; s < stations; ++s)
        if (used[s] && !reached[s])
            return Error{ErrorCode::NotConnected, "shares no marked feature with the other photographs",
                         describe(n.survey(), n.survey().stations[s].id),
                         "mark in it features that are marked in the others, or leave it out"};
    return {};
}

}  // namespace

Result<void> findStart(Network& n) {
    startGroups(n);
    const std::vector<bool> used = n.inUse().stations;
    if (auto r = checkConnected(n, used); !r) return r;
    State& state = n.state();
    Known known;
    known.station.assign(used.size(), false);
    known.featurePlan.assign(state.features.size(), false);
    known.featureSpace = known.featurePlan;
    known.level.assign(state.levels.size(), false);
    known.level[at(n.datumLevel())] = true;

    const std::vector<Sighting> seen = sightings(n);
    std::vector<bool> principal(used.size(), false);
    bool any = false;
    for (std::size_t s = 0; s < used.size(); ++s) {
        state.stations[s].R = survey::squareRotation(n.survey().stations[s].view);
        principal[s] = used[s] && n.survey().stations[s].view != View::Oblique;
        any = any || principal[s];
    }
    if (any) {
        std::vector<Sighting> square;
        for (const Sighting& s : seen)
            if (principal[at(s.station)]) square.push_back(s);
        solveLinear(n, square, principal, known);
        orientObliques(n, seen, used, known);
    }
    for (std::size_t s = 0; s < used.size(); ++s) {
        if (!used[s] || known.station[s]) continue;
        if (auto r = startFromPlane(n, seen, used, known); !r) return r;
        if (!known.station[s]) return sharesTooLittle(n, s);
    }
    startShapes(n, known);
    if (auto r = scaleByReadings(n); !r) return r;
    startDatum(n);
    for (std::size_t g = 0; g < state.groups.size(); ++g) refreshFixed(state.groups[g], n.survey().groups[g]);
    return {};
}

}  // namespace trammel::adjust
