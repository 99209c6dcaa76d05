// SPDX-License-Identifier: GPL-3.0-or-later
// Time of the advice on twenty dimensions: all readings that a caliper of 60 mm reaches (about ten thousand
// of 500 features) and of 300 mm (a hundred thousand), and the photographs; beside the adjustment, and the
// search for the best beside computing every reading's variance and no more.
#include <fmt/core.h>

#include <optional>

#include "Scene.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/AdvicePlan.h"
#include "core/adjust/AdviceViews.h"
#include "core/adjust/Covariance.h"

using namespace trammel;
using namespace trammel::bench;

namespace {

/// Distances between features far apart, and the heights.
void askForTwenty(survey::Survey& s) {
    const std::size_t n = s.features.size();
    for (std::size_t i = 0; i < 16; ++i)
        s.dimensions.push_back({fmt::format("D{}", i + 1),
                                "",
                                survey::Quantity::Distance,
                                {s.features[i * 7 % n].id, s.features[(i * 11 + n / 2) % n].id}});
    for (std::size_t i = 1; i < s.levels.size(); ++i)
        s.dimensions.push_back({fmt::format("D{}", 16 + i), "", survey::Quantity::Height, {s.levels[i].id}});
}

void timeReadings(const Settings& settings, const adjust::Solution& solution, double reach, double whole) {
    adjust::AdviceOptions options;
    options.views = false;
    options.caliperReach_mm = reach;
    const auto goal = adjust::Goal::of(solution);
    if (!goal) fail(goal.error().sentence());
    const estimate::Planned planned(solution.covariance->factor());
    const double all = median(settings.repeat, [&] {
        return seconds([&] {
            if (!adjust::advise(solution, options)) fail("no advice");
        });
    });
    std::optional<adjust::PossibleReadings> readings;
    const double gather =
        median(settings.repeat, [&] { return seconds([&] { readings.emplace(solution, options); }); });
    const double search = median(settings.repeat, [&] {
        return seconds([&] {
            if (adjust::bestReadings(*readings, *goal, planned, 5).empty()) fail("no reading");
        });
    });
    double sum = 0.0;
    const double every = seconds([&] {
        for (std::size_t i = 0; i < readings->size(); ++i) sum += planned.variance(readings->gradient(i));
    });
    if (!(sum > 0)) fail("no variance");
    fmt::print(
        "  advice, {:>6} readings    {:8.1f} ms ({:.2f} of an adjustment): gather {:.1f} ms, search {:.1f} "
        "ms "
        "({:.2f} of the variance of each), the rest looks ahead\n",
        readings->size(), 1e3 * all, all / whole, 1e3 * gather, 1e3 * search, search / every);
}

void timeAdvice(const Settings& settings, survey::Survey survey) {
    askForTwenty(survey);
    std::optional<adjust::Solution> solution;
    const double whole = seconds([&] {
        auto r = adjust::adjust(survey);
        if (!r) fail(r.error().sentence());
        solution = std::move(*r);
    });
    for (const double reach : {60.0, 300.0}) timeReadings(settings, *solution, reach, whole);
    const auto goal = adjust::Goal::of(*solution);
    if (!goal) fail(goal.error().sentence());
    std::size_t views = 0;
    const double time = median(settings.repeat, [&] {
        return seconds([&] { views = adjust::possibleViews(*solution, *goal).size(); });
    });
    fmt::print("  advice, {:>6} photographs {:8.1f} ms ({:.2f} of an adjustment)\n", views, 1e3 * time,
               time / whole);
}

}  // namespace

int main(int argc, char** argv) {
    const Settings settings = settingsFrom(argc, argv);
    fmt::print("advice for {} stations x {} features; median of {}\n", settings.stations, settings.features,
               settings.repeat);
    timeAdvice(settings, synthetic(settings).survey);
    return 0;
}
