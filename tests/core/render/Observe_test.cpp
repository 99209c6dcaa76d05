// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/render/Observe.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <set>

#include "Scenes.h"
#include "core/math/Statistics.h"
#include "core/render/Random.h"
#include "core/render/Truth.h"
#include "core/survey/Check.h"

using namespace trammel;
using namespace trammel::render;
using survey::FeatureKind;

namespace {

const Observer& observer() {
    static const Observer observer(test::sample());
    return observer;
}

bool sees(const std::string& camera, const std::string& feature) {
    const Scene& scene = observer().scene();
    for (const Sighting& s : observer().sightings())
        if (scene.cameras[static_cast<std::size_t>(s.camera)].name == camera &&
            scene.features[static_cast<std::size_t>(s.feature)].name == feature)
            return true;
    return false;
}

int kindsSeen(const std::string& camera, FeatureKind kind) {
    const Scene& scene = observer().scene();
    int count = 0;
    for (const Sighting& s : observer().sightings())
        count += scene.cameras[static_cast<std::size_t>(s.camera)].name == camera &&
                 scene.features[static_cast<std::size_t>(s.feature)].kind == kind;
    return count;
}

}  // namespace

TEST_CASE("what can be seen follows from what stands in the way") {
    CHECK(sees("top", "H1"));
    CHECK_FALSE(sees("top", "H1 below"));  // the lower rim lies behind the upper one
    CHECK(sees("bottom", "H1 below"));
    CHECK_FALSE(sees("bottom", "H1"));
    CHECK_FALSE(sees("top", "C3 below"));
    CHECK(sees("front", "C3 below"));
    CHECK_FALSE(sees("front", "C7"));  // at the rear
    CHECK(sees("rear", "C7"));
    CHECK(sees("bottom", "coil front left"));
    CHECK_FALSE(sees("top", "coil front left"));
    CHECK(sees("front", "sink front left"));
    CHECK_FALSE(sees("rear", "sink front left"));
    CHECK_FALSE(sees("bottom", "rule 0"));  // not laid beside the turned board
    for (const char* side : {"front", "rear", "left", "right"}) {
        CHECK(kindsSeen(side, FeatureKind::Hole) == 0);  // rims seen edge-on tell nothing
        CHECK(kindsSeen(side, FeatureKind::Arc) == 0);
        CHECK(kindsSeen(side, FeatureKind::Edge) > 5);  // but edges give heights
        CHECK(kindsSeen(side, FeatureKind::Corner) > 5);
    }
}

TEST_CASE("every feature of the sample is seen and every level from two photographs at least") {
    const Scene& scene = observer().scene();
    std::map<int, std::set<int>> camerasOfLevel;
    std::set<int> features;
    for (const Sighting& s : observer().sightings()) {
        features.insert(s.feature);
        camerasOfLevel[scene.features[static_cast<std::size_t>(s.feature)].level].insert(s.camera);
    }
    CHECK(features.size() == scene.features.size());
    for (std::size_t i = 0; i < scene.levels.size(); ++i)
        CHECK(camerasOfLevel[static_cast<int>(i)].size() >= 2);
}

TEST_CASE("a survey of the sample is sound and the same for one seed") {
    ObserveOptions options;
    options.seed = 12;
    const survey::Survey first = observer().draw(options), again = observer().draw(options);
    CHECK(first == again);
    options.seed = 13;
    CHECK_FALSE(first == observer().draw(options));
    for (const Error& error : survey::check(first)) FAIL_CHECK(error.sentence());
    CHECK(first.features.size() == test::sample().features.size());
    CHECK(first.stations.size() == 8);
}

TEST_CASE("without noise every mark lies on its projected feature") {
    ObserveOptions options;
    options.noise = false;
    const Scene& scene = observer().scene();
    const survey::Survey exact = observer().draw(options);
    const Truth truth = truthOf(scene);
    for (const survey::Mark& mark : exact.marks) {
        const auto feature = static_cast<std::size_t>(std::stoi(mark.feature.substr(1)) - 1);
        const auto camera = static_cast<std::size_t>(std::stoi(mark.station.substr(1)) - 1);
        for (const survey::MarkPoint& p : mark.points) {
            double nearest = 1e9;  // dense samples of the feature's own formula
            for (int i = 0; i <= 4000; ++i) {
                const Vec3 x = along(scene.features[feature], i / 4000.0).point;
                nearest = std::min(nearest, (pictureOf(scene, scene.cameras[camera], x) - p.px).norm());
                if (scene.features[feature].kind == FeatureKind::Corner) break;
            }
            CHECK(nearest < 0.3);  // half a step along the longest edge
        }
    }
    for (const survey::Reading& r : exact.readings)
        CHECK(r.measured.value == Approx(*truth.value(r.quantity, r.objects)).epsilon(1e-12));
}

// χ² bounds at 0.0001 on either side (Boost.Math).
TEST_CASE("the noise of marks and readings has the standard deviation that is written beside it") {
    ObserveOptions noisy, exact;
    exact.noise = false;
    const survey::Survey truth = observer().draw(exact);
    double sum = 0.0;
    int count = 0;
    double readingSum = 0.0;
    int readingCount = 0;
    for (int seed = 1; seed <= 5; ++seed) {
        noisy.seed = static_cast<std::uint64_t>(seed);
        const survey::Survey drawn = observer().draw(noisy);
        for (std::size_t i = 0; i < drawn.marks.size(); ++i)
            for (std::size_t j = 0; j < drawn.marks[i].points.size(); ++j) {
                const Vec2 miss = (drawn.marks[i].points[j].px - truth.marks[i].points[j].px) / 1.5;
                sum += miss.squaredNorm();
                count += drawn.marks[i].points.size() == 1 ? 2 : 1;
            }
        for (std::size_t i = 0; i < drawn.readings.size(); ++i, ++readingCount)
            readingSum += std::pow((drawn.readings[i].measured.value - truth.readings[i].measured.value) /
                                       drawn.readings[i].measured.sigma,
                                   2);
    }
    CHECK(sum > stats::chiSquareQuantile(0.0001, count));
    CHECK(sum < stats::chiSquareQuantile(0.9999, count));
    CHECK(readingSum > stats::chiSquareQuantile(0.0001, readingCount));
    CHECK(readingSum < stats::chiSquareQuantile(0.9999, readingCount));
}

TEST_CASE("options drop stations and readings and what hangs on them") {
    ObserveOptions options;
    options.dropStations = {"oblique A", "oblique B", "bottom"};
    options.mostCalipers = 2;
    options.mostDepths = 0;
    options.mostTapes = 1;
    options.mostReferences = 1;
    options.checkReadings = false;
    const survey::Survey s = observer().draw(options);
    CHECK(s.stations.size() == 5);
    for (const survey::Mark& mark : s.marks) CHECK(survey::find(s.stations, mark.station) != nullptr);
    CHECK(s.readings.size() == 4);
    CHECK(survey::check(s).empty());
    options.dropStations = {};
    options.onlyStations = {"top", "front"};
    CHECK(observer().draw(options).stations.size() == 2);
    options = {};
    options.fitted = true;
    options.sigma_px = 0.15;
    for (const survey::Mark& mark : observer().draw(options).marks) {
        const auto kind = survey::find(s.features, mark.feature)
                              ? survey::find(s.features, mark.feature)->kind
                              : FeatureKind::Corner;
        if (kind == FeatureKind::Edge) CHECK(mark.points.size() == 4);
        if (kind == FeatureKind::Hole) CHECK(mark.points.size() == 12);
        CHECK(mark.origin == survey::MarkOrigin::Fitted);
    }
}

TEST_CASE("the sample's references read what is printed on them") {
    ObserveOptions options;
    options.nominalReferences = true;
    const survey::Survey s = observer().draw(options);
    const auto value = [&](const std::string& name) {
        for (const auto& r : s.readings)
            if (r.name == name) return r.measured.value;
        return 0.0;
    };
    CHECK(value("card length") == 85.60);  // ISO/IEC 7810, ID-1
    CHECK(value("card width") == 53.98);
    CHECK(value("rule 300") == 300.0);
}

// The engine's stream is fixed by the C++ standard: the 10000th output of a default mt19937_64 is
// 9981545732273789042 ([rand.predef]).
TEST_CASE("random numbers rest on the standard's engine") {
    std::mt19937_64 engine;
    engine.discard(9999);
    CHECK(engine() == 9981545732273789042ull);
    Random random(3);
    double sum = 0, squares = 0;
    for (int i = 0; i < 100000; ++i) {
        const double x = random.normal();
        sum += x;
        squares += x * x;
    }
    CHECK(std::abs(sum / 1e5) < 0.015);
    CHECK(squares / 1e5 == Approx(1.0).margin(0.02));
}
