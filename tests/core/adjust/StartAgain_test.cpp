// SPDX-License-Identifier: GPL-3.0-or-later
// A photograph that came to stand wrongly is found among the others and oriented anew on them.
#include "core/adjust/StartAgain.h"

#include <algorithm>

#include "Sample.h"
#include "core/adjust/Round.h"
#include "core/math/Rotation.h"

using namespace trammel;
using namespace trammel::adjust;

namespace {

/// How far the nearest of the states has a photograph's camera turned away from R, rad.
double nearest(const std::vector<State>& ways, int station, const Mat3& R) {
    double least = INFINITY;
    for (const State& way : ways)
        least = std::min(least, rotationLog(way.stations[at(station)].R * R.transpose()).norm());
    return least;
}

}  // namespace

TEST_CASE("a view from the side that stands at a wrong tilt is found, and turned back on the others") {
    const survey::Survey s = test::draw(false, 1);
    auto network = Network::compile(s);
    REQUIRE(network);
    REQUIRE(findStart(*network));
    REQUIRE(solveRound(*network, Options{}, nullptr));
    CHECK(misplaced(*network, 1e-3).empty());
    const State settled = network->state();
    int sides = 0;
    for (int station = 0; station < static_cast<int>(s.stations.size()); ++station) {
        const survey::View view = s.stations[at(station)].view;
        if (view != survey::View::Front && view != survey::View::Right) continue;
        ++sides;
        CAPTURE(s.stations[at(station)].name);
        network->state() = settled;
        network->forgetFeet();
        Mat3& R = network->state().stations[at(station)].R;
        R = rotationExp(Vec3(-0.35, 0.1, 0)) * R;
        const std::vector<int> wrong = misplaced(*network, 1e-3);
        REQUIRE_FALSE(wrong.empty());
        CHECK(wrong.front() == station);
        const State before = network->state();
        const std::vector<State> ways = reorient(*network, station);
        CHECK(nearest({before}, station, settled.stations[at(station)].R) > 0.3);
        CHECK(nearest(ways, station, settled.stations[at(station)].R) < 0.03);
        CHECK(network->state().stations[at(station)].R == before.stations[at(station)].R);
    }
    CHECK(sides > 0);
}
