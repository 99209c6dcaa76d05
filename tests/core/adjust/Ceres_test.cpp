// SPDX-License-Identifier: GPL-3.0-or-later
// The whole adjustment against an independent solver: Ceres 2.1 (S. Agarwal, K. Mierle and others).
#if __has_include(<ceres/ceres.h>)
#include "CeresModel.h"

#include <fmt/core.h>

#include "Sample.h"
#include "core/estimate/Covariance.h"
#include "core/estimate/Solver.h"

using namespace trammel;
using namespace trammel::adjust;
using survey::FeatureKind;

namespace {

/// Dense QR, run until nothing moves.
double solveFully(ceres::Problem& problem) {
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_QR;
    options.function_tolerance = 0;
    options.gradient_tolerance = 0;
    options.parameter_tolerance = 1e-15;
    options.max_num_iterations = 100;
    options.num_threads = 2;
    options.logging_type = ceres::SILENT;
    ceres::Solver::Summary summary;
    for (int i = 0; i < 2; ++i) ceres::Solve(options, &problem, &summary);
    return 2 * summary.final_cost;
}

/// Variance of −value by Ceres' covariance of all blocks.
double variance(test::CeresModel& model, ceres::Covariance& covariance, const QuantityTerm& term,
                double& value) {
    const auto w = model.wanted(term);
    const auto cost = test::CeresModel::cost(w);
    std::vector<std::vector<double>> J;
    std::vector<double*> rows;
    for (const int size : w.sizes) J.emplace_back(static_cast<std::size_t>(size));
    for (auto& j : J) rows.push_back(j.data());
    double e = 0.0;
    REQUIRE(cost->Evaluate(w.blocks.data(), &e, rows.data()));
    value = -e;
    double sum = 0.0;
    for (std::size_t a = 0; a < w.blocks.size(); ++a)
        for (std::size_t b = 0; b < w.blocks.size(); ++b) {
            MatX block(w.sizes[b], w.sizes[a]);  // row-major a × b read as its transpose
            if (!covariance.GetCovarianceBlock(w.blocks[a], w.blocks[b], block.data())) return NAN;
            sum += Eigen::Map<VecX>(J[a].data(), w.sizes[a])
                       .dot(block.transpose() * Eigen::Map<VecX>(J[b].data(), w.sizes[b]));
        }
    return sum;
}

void compare(const survey::Survey& s, const std::string& what) {
    auto n = Network::compile(s);
    REQUIRE(n);
    REQUIRE(findStart(*n));
    Network solved = *n;
    estimate::SolverOptions strict;  // the last step leaves weak features a few 1e-8 mm off at the usual one
    strict.stepTolerance = 1e-13;
    // Twice: once rounding hides the fall of the sum the solver rests, and a fresh one takes one more step.
    REQUIRE(estimate::solve(solved, strict));
    const auto report = estimate::solve(solved, strict);
    REQUIRE(report);
    // The middle of an edge is fixed in ours by where its ends are: take those of the solution, with a start
    // that is some way off.
    Network start = solved;
    VecX away(solved.layout().columns);
    std::vector<estimate::Rows> rows;
    REQUIRE(solved.linearise(rows, true));
    estimate::Normal normal(solved.layout(), rows);
    normal.assemble(rows);
    const VecX diagonal = normal.diagonal();
    for (Eigen::Index i = 0; i < away.size(); ++i) away[i] = (i % 3 - 1) * 0.3 / std::sqrt(diagonal[i]);
    start.step(away);
    test::CeresModel model(start, solved.state());
    const double sum = solveFully(model.problem());
    CHECK(sum == Approx(report->sumOfSquares).epsilon(1e-9));

    estimate::RankDefect defect;
    const estimate::CovarianceFactor factor(normal, defect);
    REQUIRE(factor.valid());
    double worst = 0.0, worstLevel = 0.0, worstVariance = 0.0, worstValue = 0.0;
    std::string where, whose;
    for (std::size_t i = 0; i < s.features.size(); ++i) {
        const FeatureState& f = solved.state().features[i];
        if (!model.problem().HasParameterBlock(model.features()[i].data())) continue;
        double off = 0.0;
        if (f.kind == FeatureKind::Edge) {
            // Distance of our two end points from the other's line.
            const auto& line = model.features()[i];
            const Vec2 normalTo(std::cos(line[0]), std::sin(line[0]));
            const double unsure = std::sqrt(factor.variance({{solved.columns().features[i][0], 1.0}}));
            if (unsure > 5.0) continue;  // seen edge on only: its place along the line of sight is open
            off = std::max(std::abs(normalTo.dot(f.a) - line[1]), std::abs(normalTo.dot(f.b) - line[1]));
        } else {
            off = (f.p.head<2>() - Vec2(model.features()[i][0], model.features()[i][1])).norm();
            if (f.kind != FeatureKind::Corner)
                off = std::max(off, std::abs(std::abs(f.r) - std::abs(model.features()[i][2])));
            else if (f.level < 0)
                off = std::max(off, std::abs(f.p.z() - model.features()[i][2]));
        }
        if (off > worst) worst = off, where = s.features[i].name;
    }
    for (std::size_t i = 0; i < s.levels.size(); ++i)
        worstLevel = std::max(worstLevel, std::abs(solved.state().levels[i] - model.levels()[i]));

    ceres::Covariance::Options options;
    options.algorithm_type = ceres::DENSE_SVD;
    options.null_space_rank = 0;
    options.min_reciprocal_condition_number = 1e-30;
    options.num_threads = 2;
    ceres::Covariance covariance(options);
    std::vector<double*> all;
    std::vector<const double*> blocks;
    model.problem().GetParameterBlocks(&all);
    blocks.assign(all.begin(), all.end());
    REQUIRE(covariance.Compute(blocks, &model.problem()));
    for (const survey::Dimension& d : s.dimensions) {
        const auto term = resolve(s, d.quantity, d.objects, d.id);
        REQUIRE(term);
        const QuantityValue ours = evaluate(*term, solved.state(), solved.columns());
        const double our = factor.variance(ours.gradient);
        double value = 0.0;
        const double their = variance(model, covariance, *term, value);
        worstValue = std::max(worstValue, std::abs(value - ours.value));
        CAPTURE(d.name, our, their);
        if (our < 1e-20) {
            CHECK(std::abs(their) < 1e-15);
            continue;
        }
        const double apart = std::abs(their / our - 1);
        if (apart > worstVariance) worstVariance = apart, whose = d.name;
    }
    fmt::print(
        "  {}: features to {:.1e} mm ({}), heights to {:.1e} mm, dimensions to {:.1e}, their variances to "
        "{:.1e} ({})\n",
        what, worst, where, worstLevel, worstValue, worstVariance, whose);
    CHECK(worst < 1e-8);
    CHECK(worstLevel < 1e-8);
    CHECK(worstValue < 1e-8);
    CHECK(worstVariance < 1e-6);
}

}  // namespace

TEST_CASE("Ceres, with its own derivatives and parameters, finds the same solution and the same covariance") {
    compare(test::draw(true, 1), "fitted marks");
    compare(test::draw(false, 2), "marks by hand");
}

TEST_CASE("and so with every kind of observation and constant") {
    survey::Survey s = test::draw(true, 3);
    for (survey::CameraGroup& g : s.groups) {
        g.principalX.mode = g.principalY.mode = survey::ConstantMode::Prior;
        g.principalX.sigma = g.principalY.sigma = 20;
        g.p1 = {0.0, 1e-3, survey::ConstantMode::Prior};
        g.p2 = {2e-4, 0.0, survey::ConstantMode::Fixed};
        g.k2 = {0.5, 2.0, survey::ConstantMode::Prior};
    }
    int freed = 0;
    for (survey::Feature& f : s.features) {
        int views = 0;
        for (const survey::Mark& m : s.marks) views += m.feature == f.id ? 1 : 0;
        if (f.kind == FeatureKind::Corner && views >= 3 && freed < 2) f.level.clear(), ++freed;
    }
    const auto id = [&](const std::string& name) { return test::named(s.features, name).id; };
    const auto read = [&](survey::Quantity q, const std::vector<survey::Id>& objects, double sigma) {
        const auto value = test::truth().value(q, objects);
        REQUIRE(value);
        survey::Reading r;
        r.id = fmt::format("R{}", 100 + s.readings.size());
        r.quantity = q;
        r.objects = objects;
        r.measured = {*value + 0.5 * sigma, sigma};
        s.readings.push_back(r);
    };
    read(survey::Quantity::Angle, {id("E1"), id("E7")}, 0.001);
    read(survey::Quantity::Distance, {id("H3"), id("E1")}, 0.05);
    read(survey::Quantity::Radius, {id("A6")}, 0.03);
    read(survey::Quantity::OffsetX, {id("H2"), id("H3")}, 0.05);
    read(survey::Quantity::OffsetY, {id("H2"), id("H3")}, 0.05);
    read(survey::Quantity::Height, {s.levels[1].id}, 0.02);
    compare(s, "everything");
}
#endif
