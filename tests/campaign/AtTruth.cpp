// SPDX-License-Identifier: GPL-3.0-or-later
#include "AtTruth.h"

#include <algorithm>
#include <cmath>

#include "core/estimate/Covariance.h"
#include "core/estimate/Normal.h"
#include "core/estimate/Solver.h"

namespace trammel::campaign {
namespace {

using survey::FeatureKind;

void setGroup(adjust::GroupState& g, const camera::Constants& k, const survey::Photo& photo) {
    g.lnKappa = -std::log(k.c);
    g.pp = k.pp;
    g.rho = std::hypot(photo.crop.fullWidth, photo.crop.fullHeight) / 2;
    const std::array<double, 5> brown = {k.k1, k.k2, k.k3, k.p1, k.p2};
    for (std::size_t i = 0; i < 5; ++i) g.K[i] = brown[i] * std::pow(g.rho / k.c, adjust::kBrownPower[i]);
}

void setFeature(adjust::FeatureState& f, const render::FeatureTruth& t) {
    f.p = t.point;
    f.a = t.from.head<2>();
    f.b = t.to.head<2>();
    if (f.kind == FeatureKind::Hole || f.kind == FeatureKind::Arc) f.r = t.radius;
}

/// Largest standard uncertainty (mm) of what a person would call the part's geometry.
double loosest(const adjust::Network& n, const estimate::CovarianceFactor& covariance) {
    double worst = 0.0;
    const auto look = [&](int column) {
        if (column >= 0) worst = std::max(worst, std::sqrt(covariance.variance({{column, 1.0}})));
    };
    for (std::size_t i = 0; i < n.state().features.size(); ++i)
        if (n.state().features[i].kind != FeatureKind::Edge)
            for (const int column : n.columns().features[i]) look(column);
    for (const int column : n.columns().levels) look(column);
    return worst;
}

bool determined(const adjust::Network& network, const std::vector<estimate::Rows>& rows) {
    estimate::Normal normal(network.layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    return estimate::CovarianceFactor(normal, defect).valid();
}

Error noMinimum() {
    return {ErrorCode::NoConvergence, "ends with a point behind a camera", "the way from the truth", ""};
}

}  // namespace

Result<adjust::Network> atTruth(const Drawn& drawn) {
    auto network = adjust::Network::compile(drawn.survey);
    if (!network) return network.error();
    const survey::Survey& s = drawn.survey;
    adjust::State& state = network->state();
    for (std::size_t i = 0; i < s.groups.size(); ++i)
        setGroup(state.groups[i], drawn.truth.groups.at(s.groups[i].id), s.stations.front().photo);
    for (std::size_t i = 0; i < s.stations.size(); ++i) {
        const camera::Pose& pose = drawn.truth.stations.at(s.stations[i].id);
        adjust::StationState& station = state.stations[i];
        const camera::Constants& k = drawn.truth.groups.at(s.stations[i].group);
        station.R = pose.R;
        const double scale = k.c / pose.t.z();
        station.lnScale = std::log(scale);
        station.g = k.pp + scale * pose.t.head<2>();
    }
    for (std::size_t i = 0; i < s.levels.size(); ++i) state.levels[i] = drawn.truth.levels.at(s.levels[i].id);
    for (std::size_t i = 0; i < s.features.size(); ++i)
        setFeature(state.features[i], drawn.truth.features.at(s.features[i].id));
    network->forgetFeet();
    return network;
}

Result<Minimum> minimumFromTruth(const Drawn& drawn) {
    auto network = atTruth(drawn);
    if (!network) return network.error();
    estimate::SolverOptions options;
    options.mostIterations = 200;
    options.floor = 1e-6;
    const auto report = estimate::solve(*network, options);
    std::vector<estimate::Rows> rows;
    if (!network->linearise(rows, true)) return report ? noMinimum() : report.error();
    const bool held = determined(*network, rows);
    if (!report && held) return report.error();
    return Minimum{estimate::sumOfSquares(rows), network->state(), held};
}

bool sound(const Drawn& drawn) {
    const auto network = atTruth(drawn);
    if (!network) return false;
    std::vector<estimate::Rows> rows;
    if (!network->linearise(rows, true)) return false;
    estimate::Normal normal(network->layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    const estimate::CovarianceFactor covariance(normal, defect);
    if (!covariance.valid()) return false;
    double size = 0.0;
    for (const auto& [id, f] : drawn.truth.features) size = std::max(size, f.point.norm());
    return loosest(*network, covariance) < 0.05 * size;
}

}  // namespace trammel::campaign
