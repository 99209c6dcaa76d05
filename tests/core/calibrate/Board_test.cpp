// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/Board.h"

#include <algorithm>
#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <vector>

using namespace trammel;
using namespace trammel::calibrate;

namespace {

/// Dots of the 5 × 5 squares from (x, y) on, read in one of four turns, and the colour of the first.
struct Window {
    std::uint32_t dots = 0;
    bool black = false;
};

Window windowAt(int x, int y, int turn) {
    constexpr int k = 5;
    Window out;
    for (int j = 0; j < k; ++j)
        for (int i = 0; i < k; ++i) {
            int a = i, b = j;
            for (int t = 0; t < turn; ++t) {
                const int was = a;
                a = k - 1 - b;
                b = was;
            }
            if (i == 0 && j == 0) out.black = isBlack(x + a, y + b);
            out.dots = out.dots * 2 + (hasDot(x + a, y + b) ? 1u : 0u);
        }
    return out;
}

}  // namespace

TEST_CASE("any 5 by 5 squares of the coded board are told from all others by three dots or more") {
    std::vector<Window> all;
    for (int y = 0; y + 5 <= kMostCoded; ++y)
        for (int x = 0; x + 5 <= kMostCoded; ++x)
            for (int turn = 0; turn < 4; ++turn) all.push_back(windowAt(x, y, turn));
    int nearest = 25, dots = 0;
    for (std::size_t a = 0; a < all.size(); ++a)
        for (std::size_t b = a + 1; b < all.size(); ++b)
            if (all[a].black == all[b].black)
                nearest = std::min(nearest, std::popcount(all[a].dots ^ all[b].dots));
    CHECK(nearest == 3);
    for (int y = 0; y < kMostCoded; ++y)
        for (int x = 0; x < kMostCoded; ++x) dots += hasDot(x, y);
    CHECK(std::abs(dots - kMostCoded * kMostCoded / 2) < 40);
}

TEST_CASE("a board that cannot be is refused in one sentence") {
    const Board good{9, 6, 20.0, 20.1};
    CHECK(!unusable(good));
    CHECK((good.corner(0, 0) - Vec2(20.0, 20.1)).norm() == 0.0);
    CHECK(good.cornerColumns() == 8);
    Board bad = good;
    bad.columns = 2;
    CHECK(unusable(bad)->sentence() ==
          "board: 2 by 6 squares are no usable board; count the squares of a row and of a column, 3 to 200.");
    bad = good;
    bad.pitchX_mm = std::nan("");
    CHECK(unusable(bad).has_value());
    bad = good;
    bad.pitchY_mm = 25.0;
    CHECK(unusable(bad).has_value());
    bad = good;
    bad.code = BoardCode::Dots;
    bad.columns = 40;
    CHECK(unusable(bad).has_value());
    bad = good;
    bad.ratioSigma = 0.0;
    CHECK(unusable(bad).has_value());
}

TEST_CASE("a board measured over all squares has their pitch, and the readings' ± in the ratio's") {
    const Board b = measuredBoard(10, 7, 250.0, 175.7, 0.2);
    CHECK(b.pitchX_mm == Approx(25.0));
    CHECK(b.pitchY_mm == Approx(25.1));
    // JCGM 100:2008, 5.1.6: relative standard uncertainties of a quotient add in squares; ± is 2 σ.
    CHECK(b.ratioSigma == Approx(std::sqrt(std::pow(0.1 / 250.0, 2) + std::pow(0.1 / 175.7, 2))));
}
