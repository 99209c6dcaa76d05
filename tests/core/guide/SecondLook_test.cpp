// SPDX-License-Identifier: GPL-3.0-or-later
// The bundled sample, clicked within 3 px: what the hand alone leaves open, the adjustment decides.
#include <catch2/catch.hpp>
#include <set>

#include "core/adjust/Retract.h"
#include "core/guide/SecondLook.h"
#include "core/photo/Decode.h"
#include "core/render/Observe.h"
#include "core/render/SceneFile.h"
#include "core/render/Sight.h"
#include "core/render/Truth.h"

using namespace trammel;

namespace {

const std::string kFolder = std::string(TRAMMEL_SAMPLES) + "/stepped-board";

Result<photo::LinearImage> photograph(const survey::Station& station) {
    auto image = photo::decode(kFolder + "/" + station.photo.path);
    if (!image) return image.error();
    return photo::linearLuminance(std::move(*image));
}

survey::Survey clicked(const render::Observer& observer) {
    render::ObserveOptions o;
    o.seed = 1;
    o.fitted = false;
    o.sigma_px = 3.0;
    return observer.draw(o);
}

}  // namespace

TEST_CASE("marks that the hand left open are fitted where all photographs together expect them") {
    const auto scene = render::loadScene(kFolder + "/scene.json");
    REQUIRE(scene);
    const render::Observer observer(*scene);
    const render::Truth truth = render::truthOf(*scene);
    const survey::Survey byHand = clicked(observer);
    survey::Survey survey = byHand;
    const fit::RefineResult first = fit::refine(survey, photograph);
    REQUIRE(survey::apply(survey, first.edit));
    (void)adjust::retractDisagreeing(survey, byHand);
    std::set<survey::Id> before;
    for (const survey::Mark& m : survey.marks)
        if (m.origin == survey::MarkOrigin::Fitted) before.insert(m.id);

    const std::vector<survey::Id> found = guide::lookAgain(survey, byHand, photograph);
    CHECK(found.size() >= 20);
    int corners = 0;
    for (const survey::Id& id : found) {
        CHECK_FALSE(before.contains(id));
        const survey::Mark* mark = survey::find(survey.marks, id);
        REQUIRE(mark);
        CHECK(mark->origin == survey::MarkOrigin::Fitted);
        const auto& feature = truth.features.at(mark->feature);
        if (feature.kind != survey::FeatureKind::Corner) continue;
        const std::string& name = survey::find(survey.stations, mark->station)->name;
        for (const render::SceneCamera& camera : scene->cameras) {
            if (camera.name != name) continue;
            ++corners;
            CAPTURE(id, name);
            CHECK((mark->points.front().px - render::pictureOf(*scene, camera, feature.point)).norm() < 1.0);
        }
    }
    CHECK(corners >= 5);
}

TEST_CASE("a survey that cannot be adjusted is left as it is") {
    const auto scene = render::loadScene(kFolder + "/scene.json");
    REQUIRE(scene);
    survey::Survey survey = clicked(render::Observer(*scene));
    survey.readings.clear();
    survey.marks.resize(5);
    const survey::Survey before = survey;
    CHECK(guide::lookAgain(survey, before, photograph).empty());
    CHECK(survey == before);
}
