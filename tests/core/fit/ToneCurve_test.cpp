// SPDX-License-Identifier: GPL-3.0-or-later
// A whole job on photographs of a camera that does not follow the sRGB curve: rendered, clicked, fitted,
// adjusted, and held against the scene's truth.
#include <fmt/core.h>

#include <catch2/catch.hpp>
#include <map>

#include "PlateScene.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"
#include "core/fit/RefineSurvey.h"
#include "core/render/Observe.h"
#include "core/render/Truth.h"
#include "core/survey/Edit.h"

using namespace trammel;

namespace {

/// Holes of several sizes, and a narrow window whose sides are as dark as the holes.
render::Scene scene(render::Curve curve) {
    render::Scene s = plateScene(
        R"("outline":[{"at":[-15,-15],"corner":"c1","edge":"front"},{"at":[65,-15],"corner":"c2","edge":"right"},
            {"at":[65,42],"corner":"c3","edge":"rear"},{"at":[-15,42],"corner":"c4","edge":"left"}],
          "holes":[{"name":"hole","at":[0,0],"diameter":9},{"name":"second","at":[50,0],"diameter":5},
            {"name":"third","at":[0,28],"diameter":6},{"name":"fourth","at":[50,30],"diameter":12},
            {"name":"fifth","at":[26,12],"diameter":15}])");
    for (render::SceneCamera& c : s.cameras) c.curve = curve;
    return s;
}

void ask(survey::Survey& survey, survey::Quantity quantity, const std::vector<survey::Id>& objects) {
    survey::Dimension d;
    d.id = fmt::format("D{}", survey.dimensions.size() + 1);
    d.quantity = quantity, d.objects = objects;
    survey.dimensions.push_back(d);
}

/// Fitted marks and caliper readings: of the distance of two holes, of one diameter, and of the plate's
/// width.
survey::Survey fittedSurvey(const render::Scene& s, const render::Truth& truth) {
    const auto pictures = photographsOf(s);
    render::ObserveOptions by;
    by.seed = 4;
    by.sigma_px = 1.0;
    survey::Survey survey = render::Observer(s).draw(by);
    const fit::RefineResult refined =
        fit::refine(survey, [&](const survey::Station& station) -> Result<photo::LinearImage> {
            return pictures.at(station.id);
        });
    REQUIRE(survey::apply(survey, refined.edit));
    const auto id = [&](const char* name) { return truth.ids.at(name); };
    const auto read = [&](survey::Quantity q, const std::vector<survey::Id>& objects) {
        survey::Reading r;
        r.id = fmt::format("R{}", 50 + survey.readings.size());
        r.quantity = q, r.objects = objects;
        r.measured = {*truth.value(q, objects), 0.01};
        survey.readings.push_back(r);
    };
    read(survey::Quantity::Diameter, {id("hole")});
    survey.dimensions.clear();
    for (const char* name : {"second", "third", "fourth", "fifth"})
        ask(survey, survey::Quantity::Diameter, {id(name)});
    ask(survey, survey::Quantity::Distance, {id("left"), id("right")});
    ask(survey, survey::Quantity::Distance, {id("left"), id("hole")});
    ask(survey, survey::Quantity::Distance, {id("c1"), id("c3")});
    return survey;
}

struct Outcome {
    double ratio = 0.0;  ///< RMS of error over σ
    double worst = 0.0;  ///< mm
    adjust::Solution solution;
};

Outcome outcome(const survey::Survey& survey, const render::Truth& truth) {
    auto solution = adjust::adjust(survey);
    if (!solution) FAIL(solution.error().sentence());
    Outcome out;
    for (const auto& d : solution->dimensions) {
        const double error = d.value - *truth.value(d.dimension.quantity, d.dimension.objects);
        fmt::print("    {:<10} {:8.4f} ± {:.4f}  off by {:+.4f}\n", d.dimension.objects[0], d.value,
                   d.plusMinus, error);
        out.ratio +=
            std::pow(2.0 * error / d.plusMinus, 2) / static_cast<double>(solution->dimensions.size());
        out.worst = std::max(out.worst, std::abs(error));
    }
    out.ratio = std::sqrt(out.ratio);
    out.solution = std::move(*solution);
    return out;
}

}  // namespace

TEST_CASE("dimensions from a camera with another tone curve hold their ± once light may grow") {
    const auto [curve, name, growth] =
        GENERATE(table<render::Curve, const char*, double>({{render::Curve::Standard, "standard", 0.0},
                                                            {render::Curve::Crisp, "crisp", -0.2},
                                                            {render::Curve::Bare, "bare", -0.65},
                                                            {render::Curve::Bold, "bold", 0.0}}));
    const render::Scene s = scene(curve);
    const render::Truth truth = render::truthOf(s);
    survey::Survey survey = fittedSurvey(s, truth);
    fmt::print("  curve {}\n", name);
    for (survey::CameraGroup& g : survey.groups) g.lightGrowth = {0.0, 0.35, survey::ConstantMode::Prior};
    const Outcome with = outcome(survey, truth);
    for (survey::CameraGroup& g : survey.groups) g.lightGrowth = {};
    fmt::print("  without\n");
    const Outcome without = outcome(survey, truth);
    fmt::print("  {}: error over σ {:.2f} with the unknown, {:.2f} without; worst {:.4f} and {:.4f} mm\n",
               name, with.ratio, without.ratio, with.worst, without.worst);
    CAPTURE(name, with.ratio, without.ratio, with.worst, without.worst);
    REQUIRE(with.solution.lightGrowths.size() == 1);
    CHECK(without.solution.lightGrowths.empty());
    const adjust::LightGrowth& found = with.solution.lightGrowths.front();
    fmt::print("  growth {:.3f} ± {:.3f} {}\n", found.share, found.plusMinus, found.sentence);
    CHECK(with.ratio < 1.7);
    if (growth == 0.0) return;
    CHECK(without.ratio > 2.0);
    CHECK(std::abs(found.share - growth) < found.plusMinus + 0.1);
    CHECK(found.sentence.find("dark grows over light by") != std::string::npos);
    CHECK(adjust::reportText(survey, with.solution).find(found.sentence) != std::string::npos);
}
