// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/estimate/Solver.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "RandomNetwork.h"

using namespace trammel;
using namespace trammel::estimate;

namespace {

/// Minimum of Rosenbrock's function (1960): r1 = 10 (y − x²), r2 = 1 − x; the minimum is (1, 1).
class Valley : public Problem {
  public:
    Valley() { layout_.columns = 2; }
    const Layout& layout() const override { return layout_; }
    bool linearise(std::vector<Rows>& rows, bool derivatives) const override {
        rows.resize(1);
        Rows& row = rows[0];
        row.components = 2;
        row.e = {-10 * (y - x * x), -(1 - x)};
        if (derivatives) {
            row.count = 0;
            row.add(0, -20 * x, -1);
            row.add(1, 10, 0);
        }
        return x < wall;
    }
    void step(const VecX& d) override { x += d[0], y += d[1]; }
    void save() override { sx = x, sy = y; }
    void restore() override { x = sx, y = sy; }
    double x = -1.2, y = 1.0, wall = INFINITY;

  private:
    Layout layout_;
    double sx = 0, sy = 0;
};

}  // namespace

TEST_CASE("the bent valley ends at its minimum with either engine") {
    for (const Engine engine : {Engine::Normal, Engine::Orthogonal}) {
        Valley valley;
        SolverOptions options;
        options.engine = engine;
        const auto report = solve(valley, options);
        REQUIRE(report);
        CHECK(report->settled);
        CHECK(valley.x == Approx(1.0).epsilon(1e-12));
        CHECK(valley.y == Approx(1.0).epsilon(1e-12));
        CHECK(report->sumOfSquares < 1e-20);
    }
}

TEST_CASE("an impossible state is stepped back from, and an impossible start refused") {
    Valley valley;
    valley.wall = 1.05;  // the first Gauss-Newton steps would overshoot it
    REQUIRE(solve(valley));
    CHECK(valley.x == Approx(1.0).epsilon(1e-10));
    Valley behind;
    behind.wall = -2.0;
    const auto refused = solve(behind);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().code == ErrorCode::NoConvergence);
    Valley bad;
    bad.x = NAN;
    bad.wall = INFINITY;
    CHECK_FALSE(solve(bad));
}

TEST_CASE("too few iterations are said, not hidden") {
    Valley valley;
    SolverOptions options;
    options.mostIterations = 3;
    const auto report = solve(valley, options);
    REQUIRE_FALSE(report);
    CHECK(report.error().what.find("too many iterations") != std::string::npos);
}

TEST_CASE("a linear problem takes a handful of steps and is solved exactly again from its solution") {
    test::RandomNetwork network(3, 30, 10, 8);
    const auto first = solve(network);
    REQUIRE(first);
    CHECK(first->iterations <= 6);
    const VecX x = network.x();
    const auto again = solve(network);
    REQUIRE(again);
    CHECK(again->iterations <= 2);
    CHECK((network.x() - x).norm() < 1e-11 * x.norm());
}
