// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>

#include "RandomNetwork.h"
#include "core/estimate/JointCovariance.h"

using namespace trammel;
using namespace trammel::estimate;

TEST_CASE("the covariance of a few unknowns is that part of the whole, in any order of calls") {
    for (unsigned seed = 1; seed <= 30; ++seed) {
        CAPTURE(seed);
        test::RandomNetwork network(300 + seed, 1 + static_cast<int>(seed % 9),
                                    1 + static_cast<int>(seed % 7), 8);
        std::vector<Rows> rows;
        network.linearise(rows, true);
        Normal normal(network.layout(), rows);
        normal.assemble(rows);
        RankDefect defect;
        const CovarianceFactor factor(normal, defect);
        REQUIRE(factor.valid());
        const Layout& layout = network.layout();
        std::vector<Gradient> each;
        for (int i = 0; i < layout.columns; ++i) each.push_back({{i, 1.0}});
        const MatX whole = factor.covariance(each);
        JointCovariance joint(factor);
        MatX part;
        for (int call = 0; call < 40; ++call) {
            std::vector<int> columns;
            if (call % 5 > 0) {
                const int b = network.integer(0, static_cast<int>(layout.blockStart.size()) - 1);
                for (int i = 0; i < layout.blockSize(static_cast<std::size_t>(b)); ++i)
                    columns.push_back(layout.blockStart[static_cast<std::size_t>(b)] + i);
            }
            for (int c = layout.columns - 1; c >= layout.eliminatedColumns; --c)
                if (network.integer(0, 1) == 1) columns.insert(columns.begin(), c);
            joint.of(columns, part);
            for (std::size_t i = 0; i < columns.size(); ++i)
                for (std::size_t k = 0; k < columns.size(); ++k)
                    CHECK(std::abs(part(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(k)) -
                                   whole(columns[i], columns[k])) < 1e-10 * whole.norm());
        }
    }
}
