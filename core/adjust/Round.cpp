// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Round.h"

#include <cmath>

#include "core/estimate/Normal.h"
#include "core/estimate/Solver.h"

namespace trammel::adjust {
namespace {

Error undetermined(const Network& n, const estimate::RankDefect& defect) {
    std::string names;
    int listed = 0;
    for (const auto& [column, share] : defect.direction) {
        const std::string name = n.columnName(column);
        if (names.find(name) != std::string::npos) continue;
        if (listed++ == 3) break;
        names += (names.empty() ? "" : ", ") + name;
    }
    return {
        ErrorCode::RankDefect, "the marks and readings leave it undetermined", names,
        defect.block
            ? "mark it in another photograph that sees it from another direction"
            : "add a reading that holds it, or mark more features in a photograph from another direction"};
}

/// An adjustment that does not settle, with the observation that fits least as the place to look first.
Error unsettled(const Network& n, const std::vector<estimate::Rows>& rows, Error error) {
    const std::vector<int> owners = n.rowOwners();
    double worst = 0.0;
    for (std::size_t r = 0; r < rows.size(); ++r) {
        const double misfit = rows[r].squared();
        if (!rows[r].active || (misfit <= worst && std::isfinite(misfit))) continue;
        worst = std::isfinite(misfit) ? misfit : INFINITY;
        error.object = n.owners()[at(owners[r])].description;
    }
    if (error.object.empty()) error.object = "adjustment";
    return error;
}

}  // namespace

Result<Round> solveRound(Network& n, const Options& options, const Progress* progress,
                         estimate::RankDefect* found) {
    estimate::SolverOptions solver;
    solver.mostIterations = options.mostIterations;
    solver.floor = 1e-6;
    auto report = estimate::solve(n, solver, progress);
    if (!report && report.error().code == ErrorCode::Cancelled) return report.error();
    // An adjustment that does not settle is most often one that cannot: then say what hangs loose.
    std::vector<estimate::Rows> rows;
    if (!n.linearise(rows, true)) {
        return report ? Error{ErrorCode::NoConvergence, "ends with a point behind a camera", "adjustment",
                              "look for photographs given the wrong view"}
                      : unsettled(n, {}, report.error());
    }
    estimate::Normal normal(n.layout(), rows);
    normal.assemble(rows);
    estimate::RankDefect defect;
    Round round;
    round.covariance = std::make_shared<estimate::CovarianceFactor>(normal, defect);
    if (!round.covariance->valid()) {
        if (found) *found = defect;
        return undetermined(n, defect);
    }
    if (!report) return unsettled(n, rows, report.error());
    round.iterations = report->iterations;
    round.sum = report->sumOfSquares;
    return round;
}

}  // namespace trammel::adjust
