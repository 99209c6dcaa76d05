// SPDX-License-Identifier: GPL-3.0-or-later
// Quantiles against published and independently computed figures (sources in the case files).
#include "core/math/Statistics.h"

#include <fmt/core.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <limits>
#include <numbers>
#include <sstream>

#include "Cases.h"

using namespace trammel;
using trammel::test::Cases;

namespace {

double quantile(const Cases::Row& row) {
    const std::string& name = row.text("distribution");
    const double p = row.number("probability");
    if (name == "normal") return stats::normalQuantile(p);
    if (name == "student") return stats::studentQuantile(p, row.number("dof1"));
    if (name == "chi-square") return stats::chiSquareQuantile(p, row.number("dof1"));
    if (name == "fisher") return stats::fisherQuantile(p, row.number("dof1"), row.number("dof2"));
    throw std::runtime_error("no such distribution: " + name);
}

/// Half a unit of the last decimal of a figure as it is printed.
double printedTolerance(const std::string& figure) {
    const auto point = figure.find('.');
    const int decimals = point == std::string::npos ? 0 : static_cast<int>(figure.size() - point - 1);
    return 0.5000001 * std::pow(10.0, -decimals);
}

}  // namespace

TEST_CASE("quantiles agree with the tables to their last decimal") {
    for (const char* file : {"statistics-quantiles", "statistics-printed-tables"}) {
        const Cases cases(file);
        for (const auto& row : cases.rows()) {
            INFO(file << " line " << row.line() << ", " << cases.source());
            const double published = row.number("quantile");
            const double relative = row.number("relative");  // how good the published figure itself is
            const double tolerance = printedTolerance(row.text("quantile")) + relative * std::abs(published);
            CHECK(quantile(row) == Approx(published).margin(tolerance).epsilon(0));
        }
    }
}

TEST_CASE("the whole computed tables, 820 quantiles") {
    const char* folder = std::getenv("TRAMMEL_REFERENCE");
    if (!folder) {
        fmt::print("skipped: the whole tables of quantiles need TRAMMEL_REFERENCE (folder statistics)\n");
        return;
    }
    // scipy 1.10.1, ten decimals; its Student quantiles are good to 1e-8 of themselves.
    std::ifstream in(std::string(folder) + "/statistics/quantiles.csv");
    std::string line;
    int compared = 0;
    for (std::getline(in, line); std::getline(in, line); ++compared) {
        std::vector<std::string> cells;
        std::istringstream fields(line);
        for (std::string cell; std::getline(fields, cell, ',');) cells.push_back(cell);
        REQUIRE(cells.size() == 5);
        const auto number = [&](std::size_t i) { return cells[i].empty() ? 0.0 : std::stod(cells[i]); };
        const double p = number(3), found = cells[0] == "normal"      ? stats::normalQuantile(p)
                                            : cells[0] == "student_t" ? stats::studentQuantile(p, number(1))
                                            : cells[0] == "chi_square"
                                                ? stats::chiSquareQuantile(p, number(1))
                                                : stats::fisherQuantile(p, number(1), number(2));
        INFO(line);
        const double relative = cells[0] == "student_t" ? 1e-8 : 1e-12;
        CHECK(found == Approx(number(4)).margin(0.51e-10 + relative * std::abs(number(4))).epsilon(0));
    }
    CHECK(compared == 820);
}

TEST_CASE("Student's quantiles of one and two degrees of freedom have closed forms") {
    // tan(π(p - 1/2)), and a √(2/(1 - a²)) with a = 2p - 1.
    for (const double p : {0.01, 0.3, 0.6, 0.95, 0.975, 0.9995}) {
        const double a = 2 * p - 1;
        CHECK(stats::studentQuantile(p, 1) == Approx(std::tan(std::numbers::pi * (p - 0.5))).epsilon(1e-12));
        CHECK(stats::studentQuantile(p, 2) == Approx(a * std::sqrt(2 / (1 - a * a))).epsilon(1e-12));
    }
}

TEST_CASE("upper tails undo quantiles") {
    for (const double p : {0.005, 0.05, 0.3, 0.5, 0.9, 0.999}) {
        CHECK(stats::normalUpperTail(stats::normalQuantile(p)) == Approx(1 - p).epsilon(1e-12));
        for (const double dof : {1.0, 7.0, 250.0})
            CHECK(stats::chiSquareUpperTail(stats::chiSquareQuantile(p, dof), dof) ==
                  Approx(1 - p).epsilon(1e-11));
    }
}

TEST_CASE("tails have closed forms to compare with") {
    // Two degrees of freedom: exp(-x/2). Normal: erfc(z/√2)/2; far out it must not round to zero.
    for (const double x : {0.0, 0.1, 3.0, 40.0, 600.0})
        CHECK(stats::chiSquareUpperTail(x, 2) == Approx(std::exp(-x / 2)).epsilon(1e-13).margin(0));
    for (const double z : {-3.0, 0.0, 1.0, 5.0, 20.0})
        CHECK(stats::normalUpperTail(z) ==
              Approx(std::erfc(z / std::sqrt(2.0)) / 2).epsilon(1e-13).margin(0));
}

TEST_CASE("arguments outside a distribution's range give no number instead of a wrong one") {
    const double nan = std::numeric_limits<double>::quiet_NaN(),
                 inf = std::numeric_limits<double>::infinity();
    for (const double p : {-0.1, 0.0, 1.0, 1.5, nan}) {
        CHECK(std::isnan(stats::normalQuantile(p)));
        CHECK(std::isnan(stats::chiSquareQuantile(p, 5)));
        CHECK(std::isnan(stats::studentQuantile(p, 5)));
        CHECK(std::isnan(stats::fisherQuantile(p, 5, 5)));
    }
    for (const double dof : {-1.0, 0.0, nan}) {
        CHECK(std::isnan(stats::chiSquareQuantile(0.5, dof)));
        CHECK(std::isnan(stats::chiSquareUpperTail(1.0, dof)));
        CHECK(std::isnan(stats::studentQuantile(0.5, dof)));
        CHECK(std::isnan(stats::fisherQuantile(0.5, dof, 5)));
        CHECK(std::isnan(stats::fisherQuantile(0.5, 5, dof)));
    }
    CHECK(std::isnan(stats::chiSquareUpperTail(-1.0, 5)));
    CHECK(std::isnan(stats::chiSquareUpperTail(nan, 5)));
    // Infinite arguments come out of degenerate surveys.
    CHECK(stats::normalUpperTail(inf) == 0.0);
    CHECK(stats::normalUpperTail(-inf) == 1.0);
    CHECK(std::isnan(stats::normalUpperTail(nan)));
    CHECK(stats::chiSquareUpperTail(inf, 5) == 0.0);
    CHECK(std::isnan(stats::chiSquareUpperTail(5, inf)));
    CHECK(std::isnan(stats::chiSquareQuantile(0.5, inf)));
    CHECK(stats::studentQuantile(0.975, inf) == stats::normalQuantile(0.975));
    CHECK(std::isnan(stats::fisherQuantile(0.5, inf, 5)));
    CHECK(std::isnan(stats::fisherQuantile(0.5, 5, inf)));
}
