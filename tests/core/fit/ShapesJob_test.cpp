// SPDX-License-Identifier: GPL-3.0-or-later
// A whole job on rendered photographs: slots and a closed curve marked by hand, fitted, adjusted, and held
// against the scene's truth.
#include <fmt/core.h>

#include <catch2/catch.hpp>
#include <map>

#include "PlateScene.h"
#include "core/adjust/Adjust.h"
#include "core/fit/RefineSurvey.h"
#include "core/render/Observe.h"
#include "core/render/Truth.h"
#include "core/survey/Edit.h"

using namespace trammel;

namespace {

render::Scene scene() {
    return plateScene(
        R"("outline":[{"at":[-15,-15],"corner":"c1","edge":"front"},{"at":[65,-15],"corner":"c2","edge":"right"},
            {"at":[65,42],"corner":"c3","edge":"rear"},{"at":[-15,42],"corner":"c4","edge":"left"}],
          "holes":[{"name":"hole","at":[0,0],"diameter":9},{"name":"second","at":[50,0],"diameter":5}],
          "slots":[{"name":"long","from":[-5,34],"to":[20,30],"width":6},
            {"name":"short","from":[58,20],"to":[57,29],"width":4}],
          "curves":[{"name":"wave","nodes":[[15,8],[30,6],[44,10],[45,20],[38,27],[30,20],[20,24],[12,17]]}])");
}

double fromCourse(const std::vector<Vec3>& course, bool closed, const Vec3& p) {
    double least = 1e300;
    for (std::size_t i = 0; i + (closed ? 0 : 1) < course.size(); ++i) {
        const Vec3 &a = course[i], &b = course[(i + 1) % course.size()];
        const double t = std::clamp((p - a).dot(b - a) / std::max((b - a).squaredNorm(), 1e-12), 0.0, 1.0);
        least = std::min(least, (p - a - t * (b - a)).norm());
    }
    return least;
}

/// Largest distance (px) of a mark's points from its feature's true line in the photograph.
double farthest(const render::Scene& s, const survey::Mark& m) {
    const render::SceneFeature& f = s.features[std::stoul(m.feature.substr(1)) - 1];
    const render::SceneCamera& camera = s.cameras[std::stoul(m.station.substr(1)) - 1];
    std::vector<Vec3> line;
    for (int i = 0; i < 600; ++i) {
        const Vec2 px = render::pictureOf(s, camera, render::along(f, i / 600.0).point);
        line.emplace_back(px.x(), px.y(), 0.0);
    }
    double most = 0.0;
    for (const auto& p : m.points)
        most = std::max(most, fromCourse(line, true, Vec3(p.px.x(), p.px.y(), 0.0)));
    return most;
}

}  // namespace

TEST_CASE("Slots and a closed curve from photographs to millimetres") {
    const render::Scene s = scene();
    static const std::map<std::string, photo::LinearImage> pictures = photographsOf(s);
    const render::Observer observer(s);
    render::ObserveOptions by;
    by.seed = GENERATE(11u, 12u, 13u);
    by.sigma_px = 1.2;
    survey::Survey survey = observer.draw(by);
    const auto provider = [&](const survey::Station& station) -> Result<photo::LinearImage> {
        return pictures.at(station.id);
    };
    const fit::RefineResult refined = fit::refine(survey, provider);
    std::string why;
    for (const auto& r : refined.refusals)
        if (const auto* m = survey::find(survey.marks, r.mark))
            why += survey::describe(survey, m->feature) + " in " + m->station + ": " + r.why + " ";
    INFO(why);
    REQUIRE(survey::apply(survey, refined.edit));
    const auto truth = render::truthOf(s);
    int fitted = 0, shapes = 0;
    for (const auto& m : survey.marks) {
        const auto* f = survey::find(survey.features, m.feature);
        if (f->kind != survey::FeatureKind::Slot && f->kind != survey::FeatureKind::Curve) continue;
        ++shapes;
        fitted += m.origin == survey::MarkOrigin::Fitted;
        INFO(survey::describe(survey, m.feature) << " in " << m.station);
        if (m.origin == survey::MarkOrigin::Fitted) CHECK(farthest(s, m) < 0.25);
    }
    CHECK(shapes == 9);
    CHECK(fitted >= shapes - 1);  // a hand's draw may err too far for one: it then stays by hand
    survey.dimensions = {
        {"D1", "length", survey::Quantity::Length, {truth.ids.at("long")}},
        {"D2", "width", survey::Quantity::Diameter, {truth.ids.at("long")}},
        {"D3", "length", survey::Quantity::Length, {truth.ids.at("short")}},
        {"D4", "width", survey::Quantity::Diameter, {truth.ids.at("short")}},
        {"D5", "apart", survey::Quantity::Distance, {truth.ids.at("long"), truth.ids.at("hole")}}};
    const auto solution = adjust::adjust(survey);
    if (!solution) FAIL(solution.error().sentence());
    std::string suspects;
    for (const auto& x : solution->suspects) suspects += x.sentence + " ";
    INFO(suspects);
    for (const auto& d : solution->dimensions) {
        const survey::Dimension& asked = d.dimension;
        const auto value = truth.value(asked.quantity, asked.objects);
        REQUIRE(value);
        INFO(asked.name << " of " << asked.objects[0] << ": " << d.value << " ± " << d.plusMinus << ", true "
                        << *value);
        CHECK(std::abs(d.value - *value) < 1.5 * d.plusMinus);
        CHECK(d.plusMinus < 0.12);
        CHECK(std::abs(d.value - *value) < 0.05);
    }
    const auto& wave = solution->features.at(truth.ids.at("wave"));
    REQUIRE(wave.closed);
    double worst = 0.0;
    for (const auto& f : s.features)
        if (f.name == "wave")
            for (const Vec3& p : wave.course) worst = std::max(worst, fromCourse(f.course, true, p));
    INFO("curve off by " << worst << " mm at most");
    CHECK(worst < 0.1);
}
