// SPDX-License-Identifier: GPL-3.0-or-later
// The ± of an adjusted survey against draws of its observations (JCGM 101:2008, Supplement 1 to the GUM).
#include <catch2/catch.hpp>
#include <random>

#include "SmallSurvey.h"
#include "Supplement1.h"
#include "core/math/Statistics.h"

using namespace trammel;
using survey::Quantity;
using trammel::test::Draws;
using trammel::test::SmallSurvey;

namespace {

/// Everything observed, as places to write to: each input with its σ.
struct Input {
    double* value;
    double sigma;
};

std::vector<Input> inputsOf(survey::Survey& s) {
    std::vector<Input> out;
    for (survey::Mark& m : s.marks)
        for (survey::MarkPoint& p : m.points) {
            out.push_back({&p.px.x(), p.sigma_px});
            out.push_back({&p.px.y(), p.sigma_px});
        }
    for (survey::Reading& r : s.readings) out.push_back({&r.measured.value, r.measured.sigma});
    out.push_back({&s.groups[0].principalDistance.value, s.groups[0].principalDistance.sigma});
    return out;
}

survey::Dimension dimension(Quantity quantity, std::vector<survey::Id> objects) {
    survey::Dimension d;
    d.quantity = quantity;
    d.objects = std::move(objects);
    return d;
}

std::vector<survey::Dimension> wanted(const SmallSurvey& small) {
    const auto id = [&](const char* name) { return small.id(name); };
    return {dimension(Quantity::Distance, {id("rear left"), id("rear right")}),
            dimension(Quantity::Distance, {id("A"), id("rear right")}),
            dimension(Quantity::Distance, {id("boss"), id("cut side")}),
            dimension(Quantity::Angle, {id("long side"), id("cut side")}),
            dimension(Quantity::Radius, {id("rear left")}),
            dimension(Quantity::OffsetY, {id("origin"), id("boss")}),
            dimension(Quantity::Height, {id("block")})};
}

/// Draws are not to be edited: no suspects are set aside.
adjust::Solution adjusted(const survey::Survey& s) {
    adjust::Options options;
    options.findSuspects = false;
    auto solution = adjust::adjust(s, options);
    if (!solution) FAIL(solution.error().sentence());
    return *solution;
}

VecX values(const survey::Survey& s, const std::vector<survey::Dimension>& dimensions) {
    const adjust::Solution solution = adjusted(s);
    VecX out(static_cast<Eigen::Index>(dimensions.size()));
    for (std::size_t i = 0; i < dimensions.size(); ++i)
        out[static_cast<Eigen::Index>(i)] = solution.measure(dimensions[i])->value;
    return out;
}

/// Change of each dimension by each input, per σ of the input, by differences (JCGM 100, 5.1.3): no part of
/// the propagation under test.
MatX sensitivities(survey::Survey s, const std::vector<survey::Dimension>& dimensions) {
    const std::vector<Input> inputs = inputsOf(s);
    MatX by(static_cast<Eigen::Index>(dimensions.size()), static_cast<Eigen::Index>(inputs.size()));
    for (std::size_t k = 0; k < inputs.size(); ++k) {
        const double centre = *inputs[k].value, h = 0.02;
        *inputs[k].value = centre + h * inputs[k].sigma;
        const VecX above = values(s, dimensions);
        *inputs[k].value = centre - h * inputs[k].sigma;
        by.col(static_cast<Eigen::Index>(k)) = (above - values(s, dimensions)) / (2 * h);
        *inputs[k].value = centre;
    }
    return by;
}

Draws sorted(const MatX& m, Eigen::Index row) {
    const VecX each = m.row(row);
    return Draws(std::vector<double>(each.begin(), each.end()));
}

}  // namespace

TEST_CASE("exact marks give the exact part, and a radius is never negative") {
    // The iteration of this survey once ended at a radius of -3: the same circle, and a dimension of -3 mm.
    const SmallSurvey small(1.5);
    const adjust::Solution solution = adjusted(small.survey());
    const double expected[] = {80.0, std::hypot(60.0, 35.0, 12.0), 0.0, 0.0, 3.0, 27.0, SmallSurvey::kStep};
    const std::vector<survey::Dimension> dimensions = wanted(small);
    for (std::size_t i = 0; i < dimensions.size(); ++i) {
        const auto measured = solution.measure(dimensions[i]);
        REQUIRE(measured);
        CHECK(measured->plusMinus > 0);
        if (expected[i] > 0) CHECK(measured->value == Approx(expected[i]).epsilon(1e-9));
        if (dimensions[i].quantity == Quantity::Angle)
            CHECK(measured->value == Approx(std::atan2(40.0, 10.0)).epsilon(1e-9));
    }
    for (const auto& [id, f] : solution.features)
        if (f.kind == survey::FeatureKind::Hole) {
            const auto radius = solution.measure(dimension(Quantity::Radius, {id}));
            REQUIRE(radius);
            CHECK(radius->value == Approx(f.radius));
        }
}

TEST_CASE("the ± of exact marks is the root of the squared sensitivities, found by differences") {
    const SmallSurvey small(1.5);
    const std::vector<survey::Dimension> dimensions = wanted(small);
    const adjust::Solution solution = adjusted(small.survey());
    const MatX by = sensitivities(small.survey(), dimensions);
    for (std::size_t i = 0; i < dimensions.size(); ++i) {
        CAPTURE(i);
        CHECK(2 * by.row(static_cast<Eigen::Index>(i)).norm() ==
              Approx(solution.measure(dimensions[i])->plusMinus).epsilon(2e-5));
    }
}

TEST_CASE("Supplement 1 validates the ± of a survey, of clicks by hand and of fitted marks") {
    const double sigma_px = GENERATE(1.5, 0.3);
    const SmallSurvey small(sigma_px);
    const std::vector<survey::Dimension> dimensions = wanted(small);
    survey::Survey s = small.survey();
    std::mt19937_64 engine(3);
    std::normal_distribution<double> normal;
    // One noisy survey, as a person would have it.
    for (const Input& input : inputsOf(s)) *input.value += input.sigma * normal(engine);
    const adjust::Solution solution = adjusted(s);
    REQUIRE(solution.global.passed);
    const VecX y = values(s, dimensions);
    const MatX by = sensitivities(s, dimensions);

    const Eigen::Index trials = 1500;
    MatX drawn(y.size(), trials), straight(y.size(), trials);
    for (Eigen::Index t = 0; t < trials; ++t) {
        survey::Survey moved = s;
        VecX noise(by.cols());
        for (double& n : noise) n = normal(engine);
        const std::vector<Input> inputs = inputsOf(moved);
        for (std::size_t k = 0; k < inputs.size(); ++k)
            *inputs[k].value += inputs[k].sigma * noise[static_cast<Eigen::Index>(k)];
        drawn.col(t) = values(moved, dimensions);
        straight.col(t) = y + by * noise;
    }
    for (std::size_t i = 0; i < dimensions.size(); ++i) {
        const auto row = static_cast<Eigen::Index>(i);
        const double plusMinus = solution.measure(dimensions[i])->plusMinus;
        CAPTURE(sigma_px, i, y[row], plusMinus);
        const Draws d = sorted(drawn, row), l = sorted(straight, row);
        CHECK(2 * d.sigma() == Approx(plusMinus).epsilon(4 / std::sqrt(2.0 * trials)));
        // Endpoints of y ± (k = 2) against the draws' (clause 8.1). The same noise through the straight line
        // takes off the endpoints most of the chance of so few draws; δ is that of a ± stated to two digits.
        const double tail = stats::normalUpperTail(2.0);
        const double low = d.quantile(tail) - l.quantile(tail) - (2 * by.row(row).norm() - plusMinus);
        const double high =
            d.quantile(1 - tail) - l.quantile(1 - tail) + (2 * by.row(row).norm() - plusMinus);
        const double delta = test::numericalTolerance(plusMinus, 2);
        if (dimensions[i].quantity == Quantity::Radius && sigma_px > 1.0) {
            // A rim clicked by hand: a geometric circle fit is too large by about σ²/(2 r) (Al-Sharadqah and
            // Chernov 2009, from memory), here a seventh of the standard uncertainty: two digits do not hold.
            CHECK(std::max(std::abs(low), std::abs(high)) > delta);
            CHECK(std::max(std::abs(low), std::abs(high)) < 0.1 * plusMinus);
            continue;
        }
        CHECK(std::abs(low) <= delta);
        CHECK(std::abs(high) <= delta);
    }
}
