// SPDX-License-Identifier: GPL-3.0-or-later
// The principal views as ISO 128-3 and ISO 5456-2 define them (from memory): what a viewer sees right and up.
#include "core/survey/View.h"

#include <Eigen/LU>
#include <catch2/catch.hpp>

using namespace trammel;
using namespace trammel::survey;

namespace {

struct Expected {
    View view;
    const char* name;
    Vec3 looksAlong, right,
        up;  // in the part's frame: x right and y up in the top view, z towards its viewer
};

const Expected kViews[] = {
    {View::Top, "top", {0, 0, -1}, {1, 0, 0}, {0, 1, 0}},
    {View::Bottom, "bottom", {0, 0, 1}, {-1, 0, 0}, {0, 1, 0}},
    {View::Front, "front", {0, 1, 0}, {1, 0, 0}, {0, 0, 1}},
    {View::Rear, "rear", {0, -1, 0}, {-1, 0, 0}, {0, 0, 1}},
    {View::Left, "left", {1, 0, 0}, {0, -1, 0}, {0, 0, 1}},
    {View::Right, "right", {-1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
};

}  // namespace

TEST_CASE("each principal view looks where its name says, and is right-handed") {
    for (const Expected& e : kViews) {
        INFO(e.name);
        const Mat3 r = squareRotation(e.view);
        CHECK(r.determinant() == 1.0);
        CHECK((r * r.transpose() - Mat3::Identity()).norm() == 0.0);
        CHECK((r * e.looksAlong - Vec3(0, 0, 1)).norm() == 0.0);  // forward is the camera's +z
        CHECK((r * e.right - Vec3(1, 0, 0)).norm() == 0.0);
        CHECK((r * e.up - Vec3(0, -1, 0)).norm() == 0.0);  // the camera's y points down
    }
    CHECK(squareRotation(View::Oblique) == squareRotation(View::Top));
}

TEST_CASE("the bottom view is mirrored against the top view, opposite side views against each other") {
    const Vec3 rightOfPart(1, 0, 0), backOfPart(0, 1, 0);
    CHECK((squareRotation(View::Top) * rightOfPart).x() == -(squareRotation(View::Bottom) * rightOfPart).x());
    CHECK((squareRotation(View::Top) * backOfPart).y() == (squareRotation(View::Bottom) * backOfPart).y());
    CHECK((squareRotation(View::Front) * rightOfPart).x() == -(squareRotation(View::Rear) * rightOfPart).x());
    CHECK((squareRotation(View::Left) * backOfPart).x() == -(squareRotation(View::Right) * backOfPart).x());
}

TEST_CASE("views have names and are found by them") {
    for (const Expected& e : kViews) {
        CHECK(viewName(e.view) == e.name);
        CHECK(viewFromName(e.name) == e.view);
    }
    CHECK(viewFromName("oblique") == View::Oblique);
    CHECK_FALSE(viewFromName("Top"));
    CHECK_FALSE(viewFromName(""));
}
