// SPDX-License-Identifier: GPL-3.0-or-later
// Time of the adjustment and of its covariance against Ceres: same observations, same start, same solution.
#include <fmt/core.h>

#include <algorithm>

#include "CeresModel.h"
#include "Scene.h"
#include "Whole.h"
#include "core/estimate/Covariance.h"
#include "core/estimate/Solver.h"

using namespace trammel;
using namespace trammel::bench;

namespace {

ceres::Solver::Options ceresOptions(ceres::LinearSolverType type, test::CeresModel& model) {
    ceres::Solver::Options o;
    o.linear_solver_type = type;
    o.num_threads = 2;
    o.function_tolerance = 1e-12;
    o.gradient_tolerance = 1e-12;
    o.parameter_tolerance = 1e-12;
    o.max_num_iterations = 100;
    o.logging_type = ceres::SILENT;
    if (type != ceres::SPARSE_NORMAL_CHOLESKY)
        o.linear_solver_ordering.reset(new ceres::ParameterBlockOrdering(model.ordering()));
    return o;
}

double apart(const adjust::Network& ours, const test::CeresModel& theirs) {
    double worst = 0.0;
    for (std::size_t i = 0; i < ours.state().features.size(); ++i)
        worst = std::max(worst, (ours.state().features[i].p.head<2>() -
                                 Vec2(theirs.features()[i][0], theirs.features()[i][1]))
                                    .norm());
    return worst;
}

void compareSolve(const Settings& settings, const adjust::Network& start) {
    adjust::Network solved = start;
    int iterations = 0;
    double sum = 0.0;
    const double ours = median(settings.repeat, [&] {
        solved = start;
        return seconds([&] {
            const auto report = estimate::solve(solved);
            if (!report) fail(report.error().sentence());
            iterations = report->iterations;
            sum = report->sumOfSquares;
        });
    });
    fmt::print("  ours                     {:8.1f} ms  {:3} iterations  sum {:.9f}\n", 1e3 * ours, iterations,
               sum);
    double best = INFINITY, nearest = INFINITY;
    for (const auto& [name, type] : {std::pair{"Ceres, dense Schur", ceres::DENSE_SCHUR},
                                     std::pair{"Ceres, sparse Schur", ceres::SPARSE_SCHUR},
                                     std::pair{"Ceres, sparse Cholesky", ceres::SPARSE_NORMAL_CHOLESKY}}) {
        ceres::Solver::Summary summary, further;
        double off = 0.0;
        const double theirs = median(settings.repeat, [&, kind = type] {
            test::CeresModel model(start, start.state());
            const auto options = ceresOptions(kind, model);
            const double t = seconds([&] { ceres::Solve(options, &model.problem(), &summary); });
            off = apart(solved, model);
            return t;
        });
        best = std::min(best, theirs);
        test::CeresModel model(start, start.state());
        auto options = ceresOptions(type, model);
        options.function_tolerance = options.gradient_tolerance = options.parameter_tolerance = 1e-18;
        // Not timed, to where nothing moves; from its own end anew, for it gives up where rounding hides a
        // fall.
        for (int again = 0; again < 3; ++again) ceres::Solve(options, &model.problem(), &further);
        const double end = apart(solved, model);
        fmt::print(
            "  {:<24} {:8.1f} ms  {:3} iterations  sum {:.9f}  solution apart {:.1e} mm, run on {:.1e} mm\n",
            name, 1e3 * theirs, summary.num_successful_steps + summary.num_unsuccessful_steps,
            2 * summary.final_cost, off, end);
        nearest = std::min(nearest, end);
        if (!(off < 1e-6)) fail("the two solvers disagree");
    }
    if (!(nearest < 1e-8)) fail("the two solvers disagree where nothing moves any more");
    fmt::print("  time ratio, ours to the fastest: {:.2f}\n", ours / best);
}

void compareCovariance(const Settings& settings, const adjust::Network& start) {
    adjust::Network solved = start;
    if (!estimate::solve(solved)) fail("did not settle");
    double ourSum = 0.0, theirSum = 0.0;
    const double ours = median(settings.repeat, [&] {
        return seconds([&] {
            std::vector<estimate::Rows> rows;
            solved.linearise(rows, true);
            estimate::Normal normal(solved.layout(), rows);
            normal.assemble(rows);
            estimate::RankDefect defect;
            const estimate::CovarianceFactor factor(normal, defect);
            ourSum = 0.0;
            for (const auto& f : solved.columns().features)
                for (std::size_t k = 0; k < 2; ++k)
                    if (f[k] >= 0) ourSum += factor.variance({{f[k], 1.0}});
        });
    });
    const double theirs = median(settings.repeat, [&] {
        test::CeresModel model(solved, solved.state());
        std::vector<std::pair<const double*, const double*>> blocks;
        for (const auto& f : model.features()) blocks.emplace_back(f.data(), f.data());
        return seconds([&] {
            ceres::Covariance::Options options;
            options.num_threads = 2;
            ceres::Covariance covariance(options);
            if (!covariance.Compute(blocks, &model.problem())) fail("Ceres' covariance failed");
            theirSum = 0.0;
            for (const auto& [block, same] : blocks) {
                double c[9];
                covariance.GetCovarianceBlock(block, same, c);
                theirSum += c[0] + c[4];
            }
        });
    });
    fmt::print(
        "  covariance of all features: ours {:.1f} ms, Ceres (sparse QR) {:.1f} ms, ratio {:.2f}, sums apart "
        "{:.1e}\n",
        1e3 * ours, 1e3 * theirs, ours / theirs, std::abs(ourSum / theirSum - 1));
    if (!(std::abs(ourSum / theirSum - 1) < 1e-5)) fail("the two covariances disagree");
}

}  // namespace

int main(int argc, char** argv) {
    const Settings settings = settingsFrom(argc, argv);
    const Scene scene = synthetic(settings);
    auto network = adjust::Network::compile(scene.survey);
    if (!network) fail(network.error().sentence());
    shake(*network, scene.truth);
    fmt::print("adjustment of {} stations x {} features: {} marks, {} unknowns; median of {}\n",
               settings.stations, settings.features, scene.survey.marks.size(), network->layout().columns,
               settings.repeat);
    if (settings.against) {
        compareSolve(settings, *network);
        compareCovariance(settings, *network);
    }
    timeWhole(settings, scene.survey);
    return 0;
}
