// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/SceneFile.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "Scenes.h"
#include "core/survey/View.h"

using namespace trammel;
using namespace trammel::render;
using Json = nlohmann::json;

namespace {

std::string sentenceFor(const Json& scene) {
    const auto result = sceneFromJson(scene.dump(), "bad.json");
    return result ? "accepted" : result.error().sentence();
}

}  // namespace

TEST_CASE("a bad scene gets one sentence that names the place") {
    const Json good = Json::parse(test::slabScene());
    REQUIRE(sceneFromJson(good.dump(), "good.json"));
    const auto expect = [&](const char* pointer, const Json& value, const char* part) {
        Json bad = good;
        bad[Json::json_pointer(pointer)] = value;
        INFO(pointer);
        const std::string sentence = sentenceFor(bad);
        CHECK_THAT(sentence, Catch::Contains(part) && Catch::StartsWith("bad.json: at "));
        CHECK(sentence.find('\n') == std::string::npos);
    };
    expect("/levels/0/height", 3, "the datum");
    expect("/levels", Json::array(), "levels");
    expect("/levels/1/height", -29, "no level has the height -30");
    expect("/lenses/0/focalLength_mm", 0, "lenses[0].focalLength_mm: must be greater than zero");
    expect("/lenses/0/frame_px", Json::array({1}), "must be a list of 2 numbers");
    expect("/solids/0/top", -40, "must be above the bottom");
    expect("/solids/0/outline/1/at", Json::array({-20, -15}), "at one place");
    expect("/solids/0/outline/2/at", Json::array({-10, -40}), "crosses itself");
    expect("/solids/0/outline/2/fillet", 500, "does not fit");
    expect("/solids/0/outline/2/edge", "front", "used twice");
    expect("/solids/0/texture", "velvet", "no such texture");
    expect("/solids/0/holes/0/diameter", "wide", "must be a number");
    expect("/cameras/0/view", "above", "no such view");
    expect("/cameras/0/lens", "missing", "nothing is named missing");
    expect("/cameras/0/orientation", 2, "1, 3, 6 or 8");
    expect("/cameras/0/crop_px", Json::array({0, 0, 9000, 10}), "within the full frame");
    expect("/cameras/6/offAxis_deg", 0, "must stand off the axis");
    expect("/cameras/0/backdrop/normal", Json::array({0, 0, 0}), "zero");
    expect("/datum/direction", "left", "along x");
    expect("/cameras/0/name", "front", "used twice");
    expect("/datum/origin", "nowhere", "must be features");
}

TEST_CASE("a scene that is no document at all gets one sentence") {
    CHECK_THAT(sceneFromJson("{\"title\":", "cut.json").error().sentence(),
               Catch::Contains("not a JSON document"));
    CHECK_FALSE(sceneFromJson("", "empty.json"));
    CHECK_FALSE(sceneFromJson("[1, 2]", "list.json"));
    CHECK_FALSE(sceneFromJson("null", "null.json"));
    CHECK(loadScene("/no/such/scene.json").error().code == ErrorCode::FileMissing);
}

TEST_CASE("the sample holds what its description promises") {
    const Scene& scene = test::sample();
    std::set<double> heights;
    int holes = 0;
    for (const SceneLevel& level : scene.levels) heights.insert(level.height);
    for (const SceneFeature& f : scene.features)
        holes += f.kind == survey::FeatureKind::Hole && f.point.z() == 0.0;
    for (const double z : {-14.0, -1.6, 0.0, 5.5, 12.4, 38.0}) CHECK(heights.count(z) == 1);
    CHECK(heights.size() == 8);
    CHECK(holes == 8);
    CHECK(scene.cameras.size() == 8);
    CHECK_THAT(scene.note, Catch::Contains("invented"));
    for (const SceneCamera& camera : scene.cameras) {
        if (camera.view == survey::View::Oblique) continue;
        const Vec3 axis = poseOf(camera).R.row(2), square = survey::squareRotation(camera.view).row(2);
        CHECK(std::acos(axis.dot(square)) < 0.01746);  // one degree
        CHECK(std::abs(camera.roll) < 0.06);
    }
}

// A quarter-circle fillet of radius r touches both lines at r from the corner; bulge tan(90°/4) (DXF
// reference, group code 42).
TEST_CASE("a fillet becomes a true arc between its tangent points") {
    Json json = Json::parse(test::slabScene());
    json["solids"][0]["outline"][2]["fillet"] = 6;
    json["solids"][0]["outline"][2]["arc"] = "round";
    const auto scene = sceneFromJson(json.dump(), "fillet");
    REQUIRE(scene);
    const SceneFeature& f = scene->features[static_cast<std::size_t>(*featureIndex(*scene, "round"))];
    CHECK(f.radius == Approx(6).epsilon(1e-12));
    CHECK((f.point - Vec3(54, 34, 0)).norm() < 1e-12);
    CHECK((f.from - Vec3(60, 34, 0)).norm() < 1e-12);
    CHECK((f.to - Vec3(54, 40, 0)).norm() < 1e-12);
    CHECK(scene->solids[0].outline.vertices[2].bulge == Approx(std::sqrt(2.0) - 1).epsilon(1e-12));
}
