// SPDX-License-Identifier: GPL-3.0-or-later
// What further observations would leave, against the inverse of the whole dense normal matrix.
#include "core/estimate/Planned.h"

#include <Eigen/LU>
#include <catch2/catch.hpp>

#include "RandomNetwork.h"
#include "core/estimate/Orthogonal.h"

using namespace trammel;
using namespace trammel::estimate;
using trammel::test::RandomNetwork;

namespace {

CovarianceFactor factorOf(const RandomNetwork& network) {
    std::vector<Rows> rows;
    network.linearise(rows, true);
    Normal normal(network.layout(), rows);
    normal.assemble(rows);
    RankDefect defect;
    return {normal, defect};
}

MatX normalMatrix(const std::vector<Rows>& rows, int columns) {
    const DenseSystem system = dense(rows, columns);
    return system.J.transpose() * system.J;
}

MatX whole(const CovarianceFactor& factor, int columns) {
    std::vector<Gradient> each;
    for (int i = 0; i < columns; ++i) each.push_back({{i, 1.0}});
    return factor.covariance(each);
}

Gradient randomGradient(RandomNetwork& network) {
    Gradient f{{-1, 3.0}};
    for (int i = network.integer(1, 5); i > 0; --i)
        f.emplace_back(network.integer(0, network.layout().columns - 1), network.normal());
    return f;
}

/// A row on at most one block, some kept unknowns, and some of `fresh` new ones.
Rows randomRow(RandomNetwork& network, int fresh) {
    const Layout& layout = network.layout();
    Rows row;
    row.components = network.integer(1, 2);
    if (network.integer(0, 4) > 0) {
        const int b = network.integer(0, static_cast<int>(layout.blockStart.size()) - 1);
        for (int i = 0; i < layout.blockSize(static_cast<std::size_t>(b)); ++i)
            row.add(layout.blockStart[static_cast<std::size_t>(b)] + i, network.normal(), network.normal());
    }
    for (int i = network.integer(0, 3); i > 0; --i)
        row.add(network.integer(layout.eliminatedColumns, layout.columns - 1), network.normal(),
                network.normal());
    for (int i = 0; i < fresh; ++i) row.add(layout.columns + i, network.normal(), network.normal());
    if (row.count == 0) row.add(layout.columns - 1, 1.0, 1.0);
    return row;
}

}  // namespace

TEST_CASE("a chain of planned observations equals the dense inverse with them added") {
    for (unsigned seed = 1; seed <= 40; ++seed) {
        CAPTURE(seed);
        RandomNetwork network(300 + seed, 1 + static_cast<int>(seed % 9), 1 + static_cast<int>(seed % 7), 8);
        const int columns = network.layout().columns;
        const CovarianceFactor factor = factorOf(network);
        REQUIRE(factor.valid());
        MatX N = normalMatrix(network.rows(), columns);
        Planned planned(factor);
        for (int step = 0; step < 4; ++step) {
            const Gradient f = randomGradient(network), g = randomGradient(network);
            const double sigma = 0.01 + std::abs(network.normal());
            VecX df = VecX::Zero(columns), dg = VecX::Zero(columns);
            for (const auto& [c, v] : f)
                if (c >= 0) df[c] += v;
            for (const auto& [c, v] : g)
                if (c >= 0) dg[c] += v;
            planned.observe(f, sigma);
            N += df * df.transpose() / (sigma * sigma);
            const MatX expected = N.fullPivLu().inverse();
            const double size = expected.norm();
            CHECK((planned.times(g) - expected * dg).norm() < 1e-9 * size * dg.norm());
            CHECK(std::abs(planned.variance(g) - dg.dot(expected * dg)) < 1e-9 * size * dg.squaredNorm());
        }
    }
}

TEST_CASE("a factor extended by rows with unknowns of their own equals the dense inverse") {
    for (unsigned seed = 1; seed <= 40; ++seed) {
        CAPTURE(seed);
        RandomNetwork network(500 + seed, 1 + static_cast<int>(seed % 9), 1 + static_cast<int>(seed % 7), 8);
        const int fresh = static_cast<int>(seed % 4), columns = network.layout().columns + fresh;
        const CovarianceFactor before = factorOf(network);
        REQUIRE(before.valid());
        std::vector<Rows> added;
        for (int i = 0; i < 4 + 2 * fresh; ++i) added.push_back(randomRow(network, fresh));
        const CovarianceFactor after = before.extended(added, fresh);
        REQUIRE(after.valid());
        std::vector<Rows> all = network.rows();
        all.insert(all.end(), added.begin(), added.end());
        const MatX expected = normalMatrix(all, columns).fullPivLu().inverse();
        CHECK((whole(after, columns) - expected).norm() < 1e-8 * expected.norm());
        // What it came from is untouched, and it can be extended again.
        const MatX old = normalMatrix(network.rows(), network.layout().columns).fullPivLu().inverse();
        CHECK((whole(before, network.layout().columns) - old).norm() < 1e-8 * old.norm());
        const std::vector<Rows> more = {randomRow(network, 0), randomRow(network, 0)};
        const CovarianceFactor again = after.extended(more, 0);
        REQUIRE(again.valid());
        all.insert(all.end(), more.begin(), more.end());
        const MatX twice = normalMatrix(all, columns).fullPivLu().inverse();
        CHECK((whole(again, columns) - twice).norm() < 1e-8 * twice.norm());
    }
}

TEST_CASE("a fresh unknown that the added rows leave free makes the extended factor invalid") {
    RandomNetwork network(77, 4, 3, 8);
    const CovarianceFactor factor = factorOf(network);
    REQUIRE(factor.valid());
    CHECK_FALSE(factor.extended({randomRow(network, 0)}, 1).valid());
    const std::vector<Rows> one = {randomRow(network, 4)};  // two components at the most for four unknowns
    CHECK_FALSE(factor.extended(one, 4).valid());
    CHECK(factor.extended({}, 0).valid());
}
