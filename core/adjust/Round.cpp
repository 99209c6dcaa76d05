// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Round.h"

#include <algorithm>
#include <cmath>

#include "core/adjust/Shape.h"
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

/// Edges that a reading or condition is about: what it should be then depends on where their middles are.
std::vector<bool> measuredEdges(const Network& n) {
    std::vector<bool> measured(n.state().features.size(), false);
    for (const NetworkReading& r : n.readings())
        if (n.owners()[at(r.owner)].active)
            for (const auto& o : r.term.objects)
                if (o.kind == QuantityTerm::Object::Kind::Feature) measured[at(o.index)] = true;
    for (const NetworkCondition& c : n.conditions())
        if (n.owners()[at(c.owner)].active)
            for (const auto& o : c.term.objects)
                if (o.kind == QuantityTerm::Object::Kind::Feature) measured[at(o.index)] = true;
    return measured;
}

/// Ends of the marks on each edge, as parameters from a (0) to b (1). Points that see it nearly end on do not
/// say how far it goes.
std::vector<std::pair<double, double>> markedEnds(const Network& n) {
    constexpr double kLeastForeshortening = 0.3;
    std::vector<std::pair<double, double>> ends(n.state().features.size(), {INFINITY, -INFINITY});
    for (std::size_t i = 0; i < n.points().size(); ++i) {
        const ImagePoint& p = n.points()[i];
        const FeatureState& f = n.state().features[at(p.feature)];
        if (f.kind != survey::FeatureKind::Edge || !n.owners()[at(p.owner)].active ||
            !std::isfinite(n.feet()[i]))
            continue;
        const Mat3& R = n.state().stations[at(p.station)].R;
        const Vec3 along = (edgeEnd(n.state(), f) - edgeStart(n.state(), f)).normalized();
        if ((R.topRows<2>() * along).norm() < kLeastForeshortening) continue;
        auto& [low, high] = ends[at(p.feature)];
        low = std::min(low, n.feet()[i]);
        high = std::max(high, n.feet()[i]);
    }
    return ends;
}

/// Puts the two points that an edge is reckoned by at the ends of its marks, as adjusted: the line does not
/// move, but its middle (core/adjust/Quantity.h) then does not depend on where the adjustment started.
/// Returns how far the ends of an edge went that a reading is about, mm.
double spanEdges(Network& n) {
    const Vec2 kForward(1.0, 0.4142);  // to the right or up the part; few edges run across it
    const auto ends = markedEnds(n);
    const std::vector<bool> measured = measuredEdges(n);
    double farthest = 0.0;
    bool moved = false;
    for (std::size_t i = 0; i < ends.size(); ++i) {
        FeatureState& f = n.state().features[i];
        const Vec2 along = f.b - f.a;
        const double rise = f.zb - f.za;  // of one that is free in space
        const auto& [low, high] = ends[i];
        if (!((high - low) * along.norm() > 1e-6)) continue;
        f.b = f.a + high * along;
        f.a += low * along;
        f.zb = f.za + high * rise;
        f.za += low * rise;
        if (along.dot(kForward) < 0) {
            std::swap(f.a, f.b);
            std::swap(f.za, f.zb);
        }
        moved = true;
        if (measured[i])
            farthest = std::max({farthest, std::abs(low) * along.norm(), std::abs(high - 1) * along.norm()});
    }
    if (moved) n.forgetFeet();
    return farthest;
}

/// To the minimum, and again while the ends of measured edges still move with it: they settle in a step or
/// two.
Result<estimate::SolverReport> settle(Network& n, estimate::SolverOptions options, const Progress* progress) {
    constexpr double kEndsAtRest_mm = 1e-9;
    auto report = estimate::solve(n, options, progress);
    options.firstLambda = 0.0;
    for (int i = 0; i < 5 && report && spanEdges(n) > kEndsAtRest_mm; ++i) {
        auto again = estimate::solve(n, options, progress);
        if (again) again->iterations += report->iterations;
        report = again;
    }
    return report;
}

}  // namespace

Result<Round> solveRound(Network& n, const Options& options, const Progress* progress,
                         estimate::RankDefect* found, bool near) {
    estimate::SolverOptions solver;
    if (near) solver.firstLambda = 0.0;
    solver.mostIterations = options.mostIterations;
    solver.floor = 1e-6;
    auto report = settle(n, solver, progress);
    if (!report && report.error().code == ErrorCode::Cancelled) return report.error();
    // An adjustment that does not settle is most often one that cannot: then say what hangs loose.
    std::vector<estimate::Rows>& rows = n.workspace().rows;
    if (!n.linearise(rows, true)) {
        return report ? Error{ErrorCode::NoConvergence, "ends with a point behind a camera", "adjustment",
                              "look for photographs given the wrong view"}
                      : unsettled(n, {}, report.error());
    }
    estimate::Normal& normal = estimate::Normal::of(n, rows);
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
