// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/storage/FrameEdit.h"

#include <catch2/catch.hpp>

#include "core/survey/Check.h"

using namespace trammel;
using namespace trammel::survey;
using namespace trammel::storage;

namespace {

/// Three photographs of one camera, 3000 × 2000 px, whose files do not say what the frame was.
Survey threeUnknown() {
    Survey s;
    CameraGroup g;
    g.id = "G1";
    g.principalDistance = {30000, 3000, ConstantMode::Prior};
    g.principalX = {1499.5, 1500, ConstantMode::Prior};
    g.principalY = {999.5, 1500, ConstantMode::Prior};
    s.groups.push_back(g);
    for (const char* id : {"S1", "S2", "S3"}) {
        Station st;
        st.id = id, st.name = id, st.group = "G1";
        st.photo.path = std::string(id) + ".jpg";
        st.photo.width = 3000, st.photo.height = 2000;
        st.photo.crop = {3000, 2000, 0, 0, false};
        s.stations.push_back(st);
    }
    return s;
}

Edit applied(Survey& s, const Id& id, const FrameAnswer& answer, bool others) {
    const auto edit = frameEdit(s, id, answer, others);
    REQUIRE(edit);
    const auto inverse = apply(s, *edit);
    REQUIRE(inverse);
    return *inverse;
}

}  // namespace

TEST_CASE("a whole frame makes the principal point known, for all photographs of the camera, and is undone") {
    Survey s = threeUnknown();
    const Survey before = s;
    CHECK(unanswered(s, "S1") == std::vector<Id>{"S2", "S3"});
    const Edit undo = applied(s, "S1", wholeFrame(s.stations[0].photo), true);
    for (const Station& st : s.stations) CHECK(st.photo.crop == FrameCrop{3000, 2000, 0, 0, true});
    CHECK(s.groups.size() == 1);
    CHECK(s.groups[0].principalX.value == 1499.5);
    CHECK(s.groups[0].principalX.sigma == Approx(30.0));
    CHECK(unanswered(s, "S1").empty());
    REQUIRE(apply(s, undo));
    CHECK(s == before);
}

TEST_CASE("a crop with its offset is known, the others' offsets are left to the adjustment") {
    Survey s = threeUnknown();
    applied(s, "S2", {6000, 4000, true, 1000.0, 250.0}, true);
    CHECK(s.stations[1].photo.crop == FrameCrop{6000, 4000, 1000, 250, true});
    CHECK(s.stations[0].photo.crop == FrameCrop{6000, 4000, 1500, 1000, false});
    CHECK(isCropped(s.stations[0].photo));
    CHECK(s.groups[0].principalX.value == 2999.5);
    CHECK(s.groups[0].principalY.value == 1999.5);
    CHECK(s.groups[0].principalY.sigma == Approx(60.0));
    CHECK(check(s).empty());
}

TEST_CASE("a photograph with a frame of its own gets a group of its own") {
    Survey s = threeUnknown();
    applied(s, "S1", {6000, 4000, false}, false);
    REQUIRE(s.groups.size() == 2);
    CHECK(s.stations[0].group == s.groups[1].id);
    CHECK(s.stations[0].photo.crop == FrameCrop{6000, 4000, 1500, 1000, false});
    CHECK(s.groups[1].principalX.value == 2999.5);
    CHECK(s.groups[1].principalDistance == s.groups[0].principalDistance);
    CHECK(s.stations[1].group == "G1");
    CHECK(s.groups[0].principalX.value == 1499.5);
    CHECK(check(s).empty());
}

TEST_CASE("a principal point that is known better stays") {
    Survey s = threeUnknown();
    s.groups[0].principalX = s.groups[0].principalY = {1510, 3, ConstantMode::Prior};
    applied(s, "S1", wholeFrame(s.stations[0].photo), true);
    CHECK(s.groups[0].principalX == Constant{1510, 3, ConstantMode::Prior});
}

TEST_CASE("a crop outside its frame is refused in one sentence") {
    const Survey s = threeUnknown();
    for (const FrameAnswer& bad : {FrameAnswer{2999, 2000, true}, FrameAnswer{6000, 4000, true, 3001, 0},
                                   FrameAnswer{6000, 4000, true, -1, 0}, FrameAnswer{2000000, 4000},
                                   FrameAnswer{6000, 4000, true, std::nan(""), 0}}) {
        const auto edit = frameEdit(s, "S1", bad, true);
        REQUIRE(!edit);
        CHECK(edit.error().sentence().find("does not lie within this frame") != std::string::npos);
    }
    CHECK_FALSE(frameEdit(s, "S9", {6000, 4000}, true));
}
