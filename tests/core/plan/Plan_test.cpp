// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/Plan.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "core/adjust/Adjust.h"
#include "core/plan/PlanText.h"
#include "core/plan/Views.h"

using namespace trammel;
using namespace trammel::plan;

namespace {

Task task(double need) {
    Task t;
    t.sizeX_mm = 120, t.sizeY_mm = 80;
    t.heights_mm = {0, 8};
    t.need_mm = need;
    t.lenses = {{"", 105, 105}};
    t.room_mm = 4000;
    return t;
}

const Trial* chosen(const std::vector<Trial>& trials) {
    for (const Trial& t : trials)
        if (t.chosen) return &t;
    return nullptr;
}

}  // namespace

TEST_CASE("the forecast is what the adjustment of such a survey says") {
    const Task t = task(0.1);
    const auto use = useLens(t, t.lenses[0], 105, standardViews());
    REQUIRE(use);
    const render::Observer observer(standIn(t, use->setup), planSight());
    const render::Truth truth = render::truthOf(observer.scene());
    Kept kept{standardViews(), {kAlongX, kAlongY, kRaised}};
    const auto exact = plannedSurvey(observer, kept);
    const auto forecast = solutionAt(exact, truth);
    REQUIRE(forecast);
    adjust::Options options;
    options.findSuspects = false;
    const auto adjusted = adjust::adjust(exact, options);
    REQUIRE(adjusted);
    REQUIRE(adjusted->dimensions.size() == forecast->dimensions.size());
    CHECK(adjusted->dimensions.size() > 10);
    for (std::size_t i = 0; i < adjusted->dimensions.size(); ++i) {
        INFO(adjusted->dimensions[i].dimension.name);
        CHECK(forecast->dimensions[i].value == Approx(adjusted->dimensions[i].value).margin(1e-5));
        CHECK(forecast->dimensions[i].plusMinus == Approx(adjusted->dimensions[i].plusMinus).epsilon(1e-3));
    }
}

TEST_CASE("coarser marks, fewer views and fewer reference lengths never give a smaller ±") {
    const Task t = task(0.1);
    const auto use = useLens(t, t.lenses[0], 105, standardViews());
    REQUIRE(use);
    const render::Observer observer(standIn(t, use->setup), planSight());
    const render::Truth truth = render::truthOf(observer.scene());
    const auto worst = [&](const Kept& kept) {
        const auto e = expect(plannedSurvey(observer, kept), truth);
        REQUIRE(e);
        return e->planTypical;
    };
    const Kept all{{"top", "front", "right", "oblique front", "oblique right"}, {kAlongX, kAlongY, kRaised}};
    const double best = worst(all);
    Kept fewer = all;
    fewer.views = {"top", "oblique front", "oblique right"};
    CHECK(worst(fewer) > best);
    fewer = all;
    fewer.referenceLengths = {kAlongX};
    CHECK(worst(fewer) > best);
    fewer = all;
    fewer.markSigma_px = 1.5;
    CHECK(worst(fewer) > best);
    fewer = all;
    fewer.factors["top"] = 3.0;
    CHECK(worst(fewer) > best);
    fewer = all;
    fewer.squaring = Squaring::Eye;
    CHECK(worst(fewer) >= best * (1 - 1e-9));
    // Without oblique views the squareness of the camera is what holds the heights' lean.
    fewer.views = {"top", "front", "right"};
    Kept mirror = fewer;
    mirror.squaring = Squaring::Mirror;
    CHECK(worst(mirror) < worst(fewer));
}

TEST_CASE("a plan takes the fewest photographs that do, and says so") {
    const auto plan = makePlan(task(0.2));
    REQUIRE(plan);
    CHECK(plan->reachable);
    REQUIRE(plan->served());
    CHECK(plan->views.size() >= 3);
    const Trial* set = chosen(plan->sets);
    REQUIRE(set);
    CHECK(set->expected->planWorst <= 0.2);
    REQUIRE(plan->sets.size() == viewSets().size());
    for (std::size_t i = 0; i < plan->sets.size(); ++i)
        if (viewSets()[i].size() >= 3 && viewSets()[i].size() < plan->views.size())
            CHECK_FALSE(plan->sets[i].meets);
    CHECK(plan->help.empty());
    CHECK(verdict(*plan).find("is reached") != std::string::npos);
    CHECK(steps(*plan).size() >= 6);
    CHECK(cautions(*plan).size() >= 3);
}

TEST_CASE("a ± out of reach is called so, with what would help") {
    const auto plan = makePlan(task(0.002));
    REQUIRE(plan);
    CHECK_FALSE(plan->reachable);
    CHECK(plan->served());
    REQUIRE_FALSE(plan->help.empty());
    CHECK(verdict(*plan).find("not reached") != std::string::npos);
    CHECK(verdict(*plan).find("help most") != std::string::npos);
    double best = 1e9;
    for (const Trial& h : plan->help)
        if (h.expected) best = std::min(best, h.expected->planWorst);
    CHECK(best < plan->expected.planWorst);
}

TEST_CASE("no lens that serves is an answer, not a failure") {
    Task t = task(0.1);
    t.lenses = {{"", 600, 600}};
    t.room_mm = 1000;
    const auto plan = makePlan(t);
    REQUIRE(plan);
    CHECK_FALSE(plan->served());
    CHECK_FALSE(plan->reachable);
    CHECK(planText(*plan).find("room leaves") != std::string::npos);
}

TEST_CASE("a plan can be stopped, and an unsound task is refused") {
    Progress stop;
    stop.cancel();
    const auto stopped = makePlan(task(0.1), &stop);
    REQUIRE_FALSE(stopped);
    CHECK(stopped.error().code == ErrorCode::Cancelled);
    Task bad = task(0.1);
    bad.sizeX_mm = -1;
    CHECK_FALSE(makePlan(bad));
}

TEST_CASE("flat, tall, sunken and tiny parts all get an answer") {
    for (const auto& heights : {std::vector<double>{0}, {0, 40}, {0, -14, 12}, {5, 10, 15, 20, -3}}) {
        Task t = task(0.3);
        t.heights_mm = heights;
        const auto plan = makePlan(t);
        REQUIRE(plan);
        CHECK(plan->served());
    }
    Task tiny = task(0.1);
    tiny.sizeX_mm = tiny.sizeY_mm = 2;
    tiny.heights_mm = {0, 0.3};
    CHECK(makePlan(tiny));
    Task coarse = task(0.1);
    coarse.sensor.width_px = 300, coarse.sensor.height_px = 200;
    const auto plan = makePlan(coarse);
    REQUIRE(plan);
    CHECK_FALSE(plan->reachable);
}
