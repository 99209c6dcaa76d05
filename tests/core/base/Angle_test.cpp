// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/base/Angle.h"

#include <catch2/catch.hpp>

#include "core/base/Progress.h"

using namespace trammel;

TEST_CASE("angles are radians inside and degrees for people") {
    CHECK(Angle().rad() == 0.0);
    CHECK(Angle::degrees(180.0).rad() == Approx(3.14159265358979323846).epsilon(1e-15));
    CHECK(Angle::radians(1.0).deg() == Approx(57.295779513082320877).epsilon(1e-15));
    for (const double d : {-720.0, -0.001, 1e-9, 29.0, 359.999})
        CHECK(Angle::degrees(d).deg() == Approx(d).epsilon(1e-15).margin(0));
}

TEST_CASE("progress carries reports out and the wish to stop in") {
    double seen = -1.0;
    Progress progress([&](double fraction) { seen = fraction; });
    progress.report(0.25);
    CHECK(seen == 0.25);
    CHECK_FALSE(progress.cancelled());
    progress.cancel();
    CHECK(progress.cancelled());
    Progress().report(0.5);  // nobody listens: no harm
}
