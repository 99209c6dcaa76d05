// SPDX-License-Identifier: GPL-3.0-or-later
#include "AtTruth.h"

#include <algorithm>
#include <cmath>

#include "core/estimate/Covariance.h"
#include "core/estimate/Normal.h"
#include "core/estimate/Solver.h"
#include "core/plan/Expect.h"

namespace trammel::campaign {
namespace {

using survey::FeatureKind;

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

Result<adjust::Network> atTruth(const Drawn& drawn) { return plan::networkAt(drawn.survey, drawn.truth); }

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
