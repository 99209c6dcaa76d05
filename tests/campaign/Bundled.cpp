// SPDX-License-Identifier: GPL-3.0-or-later
// The bundled survey, dimension by dimension, against the truth its photographs were computed from.
#include <fmt/core.h>

#include <cmath>
#include <filesystem>
#include <map>

#include "Campaign.h"
#include "FitPhotographs.h"
#include "core/adjust/Adjust.h"
#include "core/storage/SurveyFile.h"
#include "core/survey/Names.h"

namespace trammel::campaign {
namespace {

struct Tally {
    int count = 0, outside = 0;
    double least = INFINITY, most = -INFINITY;
    void add(double error, double plusMinus) {
        ++count;
        outside += std::abs(error) > plusMinus;
        least = std::min(least, error);
        most = std::max(most, error);
    }
};

void printDimensions(const adjust::Solution& solution, const render::Truth& truth) {
    std::map<std::string, Tally> kinds;
    for (const adjust::DimensionResult& d : solution.dimensions) {
        const auto t = truth.value(d.dimension.quantity, d.dimension.objects);
        if (!t || !(d.plusMinus > 0)) continue;
        const double error = d.value - *t;
        kinds[std::string(survey::quantityName(d.dimension.quantity))].add(error, d.plusMinus);
        fmt::print("  {:<24} {:>9.4f} ± {:.4f}  truth {:>9.4f}  off by {:+.4f}{}\n", d.dimension.name,
                   d.value, d.plusMinus, *t, error,
                   std::abs(error) > d.plusMinus ? "  <- more than its ±" : "");
    }
    for (const auto& [kind, t] : kinds)
        fmt::print("  {:<10} {} of {} off by more than their ±, errors {:+.4f} to {:+.4f}\n", kind, t.outside,
                   t.count, t.least, t.most);
}

}  // namespace

int bundled(const Settings& settings) {
    const Sample sample(settings.scene);
    const std::filesystem::path folder = std::filesystem::path(settings.scene).parent_path();
    const auto byHand = storage::load(folder / (folder.filename().string() + ".trammel"));
    if (!byHand) {
        fmt::print(stderr, "{}\n", byHand.error().sentence());
        return 2;
    }
    const auto fitted = fitToPhotographs(*byHand, folder);
    if (!fitted) {
        fmt::print(stderr, "{}\n", fitted.error().sentence());
        return 2;
    }
    const auto solution = adjust::adjust(fitted->survey);
    if (!solution) {
        fmt::print(stderr, "{}\n", solution.error().sentence());
        return 2;
    }
    fmt::print("Bundled survey, {} of {} marks fitted to the photographs (mm, rad)\n", fitted->fitted,
               fitted->tried);
    printDimensions(*solution, sample.truth);
    return 0;
}

}  // namespace trammel::campaign
