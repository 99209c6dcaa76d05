// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/estimate/Covariance.h"

#include <Eigen/LU>
#include <Eigen/QR>
#include <catch2/catch.hpp>

#include "RandomNetwork.h"
#include "core/estimate/Orthogonal.h"
#include "core/estimate/Solver.h"

using namespace trammel;
using namespace trammel::estimate;
using trammel::test::RandomNetwork;

namespace {

CovarianceFactor factorOf(const RandomNetwork& network, RankDefect& defect) {
    std::vector<Rows> rows;
    network.linearise(rows, true);
    Normal normal(network.layout(), rows);
    normal.assemble(rows);
    return {normal, defect};
}

}  // namespace

TEST_CASE("elimination of blocks equals a dense QR on random networks") {
    for (unsigned seed = 1; seed <= 60; ++seed) {
        CAPTURE(seed);
        RandomNetwork network(seed, 1 + static_cast<int>(seed % 9), 1 + static_cast<int>(seed % 7), 8);
        const DenseSystem system = dense(network.rows(), network.layout().columns);
        const VecX expected = system.J.householderQr().solve(system.e);
        for (const Engine engine : {Engine::Normal, Engine::Orthogonal}) {
            RandomNetwork own = network;
            SolverOptions options;
            options.engine = engine;
            const auto report = solve(own, options);
            REQUIRE(report);
            CHECK((own.x() - expected).norm() < 1e-9 * (1 + expected.norm()));
            CHECK(report->sumOfSquares ==
                  Approx((system.e - system.J * expected).squaredNorm()).epsilon(1e-10));
        }
    }
}

TEST_CASE("covariance in blocks equals the inverse of the dense normal matrix") {
    for (unsigned seed = 1; seed <= 40; ++seed) {
        CAPTURE(seed);
        RandomNetwork network(100 + seed, 1 + static_cast<int>(seed % 9), 1 + static_cast<int>(seed % 7), 8);
        const int columns = network.layout().columns;
        const DenseSystem system = dense(network.rows(), columns);
        const MatX expected = (system.J.transpose() * system.J).fullPivLu().inverse();
        RankDefect defect;
        const CovarianceFactor factor = factorOf(network, defect);
        REQUIRE(factor.valid());
        std::vector<Gradient> each;
        for (int i = 0; i < columns; ++i) each.push_back({{i, 1.0}});
        CHECK((factor.covariance(each) - expected).norm() < 1e-8 * expected.norm());
        CHECK((orthogonalCovariance(network.rows(), columns) - expected).norm() < 1e-8 * expected.norm());
        // A function over several blocks, with a column named twice and a fixed one.
        Gradient f = {{0, 0.7}, {columns - 1, -1.2}, {0, 0.4}, {-1, 9.0}, {columns / 2, 2.0}};
        VecX g = VecX::Zero(columns);
        for (const auto& [column, value] : f)
            if (column >= 0) g[column] += value;
        CHECK(factor.variance(f) == Approx(g.dot(expected * g)).epsilon(1e-8));
        CHECK((factor.times(f) - expected * g).norm() < 1e-8 * expected.norm() * g.norm());
    }
}

TEST_CASE("redundancy numbers sum to the degrees of freedom") {
    // Baarda: trace(I − J Σ Jᵀ) = observations − unknowns.
    for (unsigned seed = 1; seed <= 10; ++seed) {
        RandomNetwork network(200 + seed, 6, 4, 8);
        RankDefect defect;
        const CovarianceFactor factor = factorOf(network, defect);
        REQUIRE(factor.valid());
        double redundancy = 0.0;
        int observations = 0;
        for (const Rows& row : network.rows())
            for (std::size_t k = 0; row.active && k < static_cast<std::size_t>(row.components); ++k) {
                Gradient g;
                for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
                    g.emplace_back(row.column[i], row.J[k][i]);
                const double r = 1.0 - factor.variance(g);
                CHECK(r > -1e-9);
                CHECK(r < 1.0 + 1e-9);
                redundancy += r;
                ++observations;
            }
        CHECK(redundancy == Approx(observations - network.layout().columns).epsilon(1e-9));
    }
}

TEST_CASE("a rank defect is named by its columns") {
    SECTION("a block that nothing holds in one direction") {
        RandomNetwork network(7, 5, 4, 8);
        std::size_t wide = 0;
        while (network.layout().blockSize(wide) < 2) ++wide;
        const int start = network.layout().blockStart[wide];
        for (Rows& row : network.rows())  // second column moves with the first
            for (std::size_t k = 0; k < 2; ++k) {
                double first = 0.0;
                for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
                    if (row.column[i] == start) first += row.J[k][i];
                for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
                    if (row.column[i] == start + 1) row.J[k][i] = 2.0 * first;
            }
        RankDefect defect;
        CHECK_FALSE(factorOf(network, defect).valid());
        CHECK(defect.block);
        REQUIRE(defect.direction.size() == 2);
        for (const auto& [column, share] : defect.direction) CHECK((column == start || column == start + 1));
    }
    SECTION("two kept columns that only their sum holds") {
        RandomNetwork network(8, 5, 5, 8);
        const int a = network.layout().eliminatedColumns + 1, b = a + 2;
        for (Rows& row : network.rows()) {
            double both[2] = {0.0, 0.0};
            for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
                if (row.column[i] == a || row.column[i] == b)
                    for (std::size_t k = 0; k < 2; ++k) both[k] += row.J[k][i], row.J[k][i] = 0.0;
            row.add(a, both[0], both[1]);
            row.add(b, both[0], both[1]);
        }
        RankDefect defect;
        CHECK_FALSE(factorOf(network, defect).valid());
        CHECK_FALSE(defect.block);
        REQUIRE(defect.direction.size() >= 2);
        CHECK(std::min(defect.direction[0].first, defect.direction[1].first) == a);
        CHECK(std::max(defect.direction[0].first, defect.direction[1].first) == b);
        CHECK(defect.direction[0].second == Approx(-defect.direction[1].second).epsilon(1e-6));
        CHECK(orthogonalCovariance(network.rows(), network.layout().columns).size() == 0);
    }
    SECTION("a kept column that no row touches") {
        RandomNetwork network(9, 4, 4, 8);
        const int a = network.layout().columns - 1;
        for (Rows& row : network.rows())
            for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
                if (row.column[i] == a) row.J[0][i] = row.J[1][i] = 0.0;
        RankDefect defect;
        CHECK_FALSE(factorOf(network, defect).valid());
        REQUIRE_FALSE(defect.direction.empty());
        CHECK(defect.direction[0].first == a);
    }
}
