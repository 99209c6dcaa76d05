// SPDX-License-Identifier: GPL-3.0-or-later
// A whole job by trail: a rendered plate's outline followed from a few clicks in one photograph, made
// features of, adjusted with the rest of the survey, and drawn as a closed chain.
#include <fmt/core.h>

#include <catch2/catch.hpp>
#include <map>

#include "PlateScene.h"
#include "core/adjust/Adjust.h"
#include "core/drawing/OutlineChain.h"
#include "core/fit/RefineSurvey.h"
#include "core/fit/Split.h"
#include "core/fit/TrailEdit.h"
#include "core/render/Observe.h"
#include "core/render/Truth.h"

using namespace trammel;

namespace {

/// 80 mm by 57 mm, two corners rounded by 6 mm and 3 mm, two sharp, one of the sides notched by a corner.
render::Scene scene() {
    return plateScene(R"("outline":[{"at":[-15,-15]},{"at":[65,-15],"fillet":6},{"at":[65,30]},{"at":[50,42]},
            {"at":[-15,42],"fillet":3}],
          "holes":[{"name":"hole","at":[0,0],"diameter":9},{"name":"second","at":[50,0],"diameter":5},
            {"name":"third","at":[20,32],"diameter":7}])");
}

}  // namespace

TEST_CASE("An outline by trail: clicks, pieces, features, adjustment, closed chain") {
    const render::Scene s = scene();
    const std::map<std::string, photo::LinearImage> pictures = photographsOf(s);
    const render::Observer observer(s);
    render::ObserveOptions by;
    by.seed = 3;
    by.sigma_px = 1.2;
    survey::Survey survey = observer.draw(by);
    const fit::RefineResult refined = fit::refine(
        survey, [&](const survey::Station& t) -> Result<photo::LinearImage> { return pictures.at(t.id); });
    REQUIRE(survey::apply(survey, refined.edit));

    // Clicks near the middles of the straight sides, a pixel or two off.
    std::vector<Vec2> clicks;
    for (const Vec3& p :
         {Vec3(25, -15, 0), Vec3(65, 12, 0), Vec3(57.5, 36, 0), Vec3(15, 42, 0), Vec3(-15, 12, 0)})
        clicks.push_back(render::pictureOf(s, s.cameras[0], p) + Vec2(1.3, -0.9));
    const photo::LinearImage& top = pictures.at("S1");
    const fit::EdgeFollower follower(top);
    const auto trail = fit::followTrail(top, follower, clicks, {true});
    if (!trail) FAIL(trail.error().sentence());
    const auto pieces = fit::splitTrail(top, *trail);
    REQUIRE(pieces);
    REQUIRE(pieces->size() == 7);
    const auto edit = fit::trailEdit(survey, *pieces, {"S1", survey.levels[0].id, true});
    REQUIRE(edit);
    REQUIRE(survey::apply(survey, *edit));
    REQUIRE(survey.outlines.size() == 1);
    std::vector<survey::Id> arcs;
    for (const auto& f : survey.features)
        if (f.kind == survey::FeatureKind::Arc) {
            arcs.push_back(f.id);
            survey.dimensions.push_back(
                {"D" + std::to_string(arcs.size()), "", survey::Quantity::Radius, {f.id}});
        }
    REQUIRE(arcs.size() == 2);
    const auto solution = adjust::adjust(survey);
    if (!solution) FAIL(solution.error().sentence());
    std::string suspects;
    for (const auto& x : solution->suspects) suspects += x.sentence + " ";
    INFO(suspects);
    CHECK(solution->suspects.empty());
    for (const auto& d : solution->dimensions) {
        const double truth = d.value > 4.5 ? 6.0 : 3.0;
        INFO("radius " << d.value << " ± " << d.plusMinus << ", true " << truth);
        CHECK(std::abs(d.value - truth) < 1.25 * d.plusMinus);
        CHECK(d.plusMinus < 0.15);
    }
    const auto chain = drawing::buildChain(survey, survey.outlines[0], solution->features, {});
    if (!chain) FAIL(chain.error().sentence());
    CHECK(chain->chain.vertices.size() == 7);
    // 80 · 57, less the cut corner, less what the fillets round off.
    const double area = 80.0 * 57.0 - 0.5 * 15.0 * 12.0 - (1.0 - std::numbers::pi / 4) * (36.0 + 9.0);
    INFO("area " << signedArea(chain->chain) << " mm², true " << area);
    CHECK(std::abs(std::abs(signedArea(chain->chain)) - area) < 2.5);
}
