// SPDX-License-Identifier: GPL-3.0-or-later
// Whether a plan's ± is what its photographs then give: random tasks are planned, their surveys drawn with
// every observation about its truth, adjusted, and the errors held against the forecast. Some are rendered
// and their marks fitted to the pictures.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "Campaign.h"
#include "FitPhotographs.h"
#include "TemporaryFolder.h"
#include "core/adjust/Adjust.h"
#include "core/plan/Plan.h"
#include "core/render/Picture.h"
#include "core/render/Random.h"

namespace trammel::campaign {
namespace {

constexpr double kLow = 0.7, kHigh = 1.4;

plan::Task randomTask(render::Random& random) {
    plan::Task t;
    const auto between = [&](double a, double b) { return a * std::pow(b / a, random.uniform()); };
    t.sizeX_mm = std::round(between(40, 400));
    t.sizeY_mm = std::round(t.sizeX_mm * between(0.4, 1.2));
    const double side = std::min(t.sizeX_mm, t.sizeY_mm);
    for (int i = static_cast<int>(4 * random.uniform()); i > 0; --i)
        t.heights_mm.push_back(std::round(10 * side * (0.3 * random.uniform() + 0.02)) / 10);
    if (random.uniform() < 0.3) t.heights_mm.push_back(-std::round(0.1 * side));
    t.need_mm = between(0.02, 1.0);
    const double focals[] = {50, 85, 105, 135, 200, 300};
    const double focal = focals[static_cast<int>(6 * random.uniform())];
    t.lenses = {{"", focal, focal}};
    t.room_mm = between(1500, 9000);
    t.marking = random.uniform() < 0.5 ? plan::Marking::Clicked : plan::Marking::Fitted;
    t.caliper = random.uniform() < 0.7;
    t.depthRod = random.uniform() < 0.7;
    t.squaring = static_cast<plan::Squaring>(static_cast<int>(3 * random.uniform()));
    return t;
}

plan::Kept keptBy(const plan::Plan& made) {
    plan::Kept k{made.views, {plan::kAlongX, plan::kAlongY, plan::kRaised}, made.task.squaring};
    k.markSigma_px = made.task.markSigma();
    k.fitted = made.task.marking == plan::Marking::Fitted;
    for (const auto& [view, blur] : made.use.blur_px) k.factors[view] = plan::blurFactor(blur);
    return k;
}

/// The scene as it would stand: cameras off square by what the survey takes for their σ, oblique ones by some
/// degrees.
render::Scene stood(render::Scene scene, const plan::Kept& kept, render::Random& random) {
    for (render::SceneCamera& c : scene.cameras) {
        const bool oblique = c.view == survey::View::Oblique;
        const bool level = kept.squaring == plan::Squaring::Mirror && c.view != survey::View::Top;
        const double sigma =
            oblique ? 0.05 : plan::squareSigma_rad(level ? plan::Squaring::Level : kept.squaring);
        c.tiltX += sigma * random.normal();
        c.tiltY += sigma * random.normal();
    }
    return scene;
}

/// Principal distance and k1 are stated about their truth, as their σ says.
void stateLens(survey::Survey& s, const render::Truth& truth, render::Random& random) {
    for (survey::CameraGroup& g : s.groups) {
        const double share = g.principalDistance.sigma / g.principalDistance.value;
        g.principalDistance.value = truth.groups.at(g.id).c * std::exp(share * random.normal());
        g.principalDistance.sigma = share * g.principalDistance.value;
        g.k1.value = g.k1.sigma * random.normal();
    }
}

struct Sums {
    double squares = 0.0, expected = 0.0;
    int count = 0, failed = 0;
    double ratio() const { return std::sqrt(expected / std::max(squares, 1e-300)); }
    void add(const survey::Survey& s, const render::Truth& truth, const adjust::Solution& forecast) {
        adjust::Options options;
        options.findSuspects = false;
        const auto r = adjust::adjust(s, options);
        if (!r) {
            fmt::print("    {}\n", r.error().sentence());
            ++failed;
            return;
        }
        for (const adjust::DimensionResult& d : r->dimensions) {
            const auto t = truth.value(d.dimension.quantity, d.dimension.objects);
            const auto f = std::find_if(forecast.dimensions.begin(), forecast.dimensions.end(),
                                        [&](const auto& x) { return x.dimension.id == d.dimension.id; });
            if (!t || f == forecast.dimensions.end()) continue;
            squares += std::pow(d.value - *t, 2);
            expected += std::pow(f->plusMinus / 2, 2);
            ++count;
        }
    }
};

Sums simulate(const plan::Plan& made, int draws, std::uint64_t seed) {
    const render::Observer planned(plan::standIn(made.task, made.use.setup), plan::planSight());
    const plan::Kept kept = keptBy(made);
    Sums sums;
    const auto forecast =
        plan::solutionAt(plan::plannedSurvey(planned, kept), render::truthOf(planned.scene()));
    for (int i = 0; forecast && i < draws; ++i) {
        render::Random random(1000 * seed + static_cast<std::uint64_t>(i));
        const render::Observer here(stood(planned.scene(), kept, random), planned.sightings());
        const render::Truth truth = render::truthOf(here.scene());
        survey::Survey s = plan::plannedSurvey(here, kept, 7919 * seed + static_cast<std::uint64_t>(i) + 1);
        stateLens(s, truth, random);
        sums.add(s, truth, *forecast);
    }
    return sums;
}

/// Photographs of the plan rendered with each view's own blur, marked by hand, fitted, adjusted.
std::optional<Sums> photographed(plan::Plan made, int draws, std::uint64_t seed) {
    const plan::Kept kept = keptBy(made);
    render::Random random(seed);
    const render::Observer planned(plan::standIn(made.task, made.use.setup), plan::planSight());
    const auto forecast =
        plan::solutionAt(plan::plannedSurvey(planned, kept), render::truthOf(planned.scene()));
    if (!forecast) return std::nullopt;
    render::Scene scene = stood(planned.scene(), kept, random);
    std::erase_if(scene.cameras, [&](const render::SceneCamera& c) {
        return std::find(made.views.begin(), made.views.end(), c.name) == made.views.end();
    });
    for (render::SceneCamera& c : scene.cameras) c.blur_px = made.use.blur_px.at(c.name);
    const test::TemporaryFolder folder;
    if (!render::writePhotographs(scene, folder.path())) return std::nullopt;
    const render::Observer here(scene, plan::planSight());
    const render::Truth truth = render::truthOf(scene);
    plan::Kept byHand = kept;
    byHand.markSigma_px = 1.5;
    byHand.fitted = false;
    byHand.factors.clear();
    Sums sums;
    int tried = 0, fitted = 0;
    for (int i = 0; i < draws; ++i) {
        survey::Survey s = plan::plannedSurvey(here, byHand, seed + static_cast<std::uint64_t>(i));
        stateLens(s, truth, random);
        const auto fit = fitToPhotographs(s, folder.path());
        if (!fit) return std::nullopt;
        tried += fit->tried;
        fitted += fit->fitted;
        sums.add(fit->survey, truth, *forecast);
    }
    fmt::print("    {} of {} marks fitted\n", fitted, tried);
    return sums;
}

plan::Task photographedTask(int i) {
    plan::Task t;
    const double sizes[][2] = {{120, 80}, {200, 150}, {60, 60}};
    t.sizeX_mm = sizes[i % 3][0];
    t.sizeY_mm = sizes[i % 3][1];
    t.heights_mm = {0, 6 + 3.0 * i};
    t.sensor.width_px = 3000;
    t.sensor.height_px = 2000;
    t.lenses = {{"", 105, 105}};
    t.need_mm = 0.05;
    return t;
}

}  // namespace

int plans(const Settings& settings) {
    const bool whole = settings.draws > 40;
    const int cases = whole ? 20 : 6, draws = std::clamp(settings.draws, 10, 100);
    int outside = 0, failed = 0;
    fmt::print("forecast ± / (2 × RMS of errors), {} random plans, {} draws each\n", cases, draws);
    render::Random random(static_cast<std::uint64_t>(settings.first));
    for (int i = 0, tried = 0; i < cases && tried < 10 * cases; ++tried) {
        const plan::Task task = randomTask(random);
        const auto made = plan::makePlan(task);
        if (!made || !made->served()) continue;  // no lens of it serves: nothing was promised
        const Sums sums = simulate(*made, draws, static_cast<std::uint64_t>(++i));
        const double ratio = sums.ratio();
        const bool within = ratio >= kLow && ratio <= kHigh && sums.count > 0;
        outside += !within;
        failed += sums.failed;
        fmt::print(
            "  {:>2}  {:3.0f} × {:3.0f} mm, {} levels, {:3.0f} mm at {:4.0f} mm, {} photographs, σ {:.2f} "
            "px: "
            "± {:.3f}, ratio {:.2f}{}\n",
            i, task.sizeX_mm, task.sizeY_mm, task.heights_mm.size(), made->use.setup.focal_mm,
            made->use.setup.standOff_mm, made->views.size(), task.markSigma(),
            2 * std::sqrt(sums.expected / std::max(sums.count, 1)), ratio, within ? "" : "  OUTSIDE");
    }
    fmt::print("  {} of {} outside {} to {}; {} adjustments failed\n", outside, cases, kLow, kHigh, failed);
    for (int i = 0; whole && i < 3; ++i) {
        const auto made = plan::makePlan(photographedTask(i));
        if (!made || !made->served()) return 1;
        const auto sums = photographed(*made, 4, static_cast<std::uint64_t>(100 + i));
        if (!sums || sums->count == 0) return 1;
        fmt::print(
            "  photographs rendered and fitted, {:.0f} × {:.0f} mm, {} views: ± {:.3f}, ratio {:.2f}\n",
            made->task.sizeX_mm, made->task.sizeY_mm, made->views.size(),
            2 * std::sqrt(sums->expected / sums->count), sums->ratio());
    }
    return outside == 0 && failed == 0 ? 0 : 1;
}

}  // namespace trammel::campaign
