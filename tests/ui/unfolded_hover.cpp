// SPDX-License-Identifier: GPL-3.0-or-later
// What a movement of the pointer over the unfolded part costs with some 500 features: finding what is under
// it, its projectors, and the repaint; held against the 8 ms that a hand does not notice and against a whole
// repaint. Prints; fails only where nothing is found.
#include <QApplication>
#include <QElapsedTimer>
#include <QTemporaryDir>
#include <cstdio>

#include "core/adjust/Adjust.h"
#include "core/storage/SurveyFile.h"
#include "ui/canvas/UnfoldedCanvas.h"

using namespace trammel;
using namespace trammel::ui;

namespace {

/// The sample with every feature of the part three times over, as adjusted.
void threefold(survey::Survey& survey, adjust::Solution& solution) {
    const auto once = survey.features;
    const auto marks = survey.marks;
    for (int copy = 1; copy < 3; ++copy) {
        const std::string more = "c" + std::to_string(copy);
        for (auto f : once) {
            auto g = solution.features.find(f.id);
            if (g == solution.features.end()) continue;
            auto moved = g->second;
            const Vec3 by(3.0 * copy, 2.0 * copy, 0.0);
            moved.point += by;
            moved.spanFrom += by.head<2>(), moved.spanTo += by.head<2>();
            for (Vec3& p : moved.course) p += by;
            f.id += more;
            solution.features[f.id] = moved;
            survey.features.push_back(f);
        }
        for (auto m : marks) {
            m.id += more, m.feature += more;
            survey.marks.push_back(m);
        }
    }
}

}  // namespace

int main(int argc, char** argv) {
    QApplication app(argc, argv);
    auto survey = storage::load(TRAMMEL_SAMPLES "/stepped-board/stepped-board.trammel");
    if (!survey) return 2;
    auto solved = adjust::adjust(*survey);
    if (!solved) return 2;
    threefold(*survey, *solved);
    Document document;
    document.start(*survey);
    document.setSolution(std::make_shared<const adjust::Solution>(*solved), document.revision());
    SheetSettings settings;
    settings.allViews = true;
    const auto scene = std::make_shared<const UnfoldedScene>(document, settings, survey::Id());
    UnfoldedCanvas canvas;
    canvas.resize(1400, 900);
    canvas.setSettings(settings);
    canvas.setScene(scene, false);
    canvas.setChoice({}, {}, survey->datum.level);
    canvas.show();
    QImage target(canvas.size(), QImage::Format_ARGB32_Premultiplied);
    canvas.render(&target);
    const int rounds = argc > 1 ? std::atoi(argv[1]) : 200;
    double worst = 0.0, sum = 0.0, whole = 0.0;
    int hits = 0;
    QElapsedTimer timer;
    for (int i = 0; i < rounds; ++i) {
        const auto& line = scene->lines()[static_cast<std::size_t>(i) * 37 % scene->lines().size()];
        timer.start();
        canvas.hover(canvas.view().toScreen(line.points.front()));
        canvas.render(&target);
        const double ms = static_cast<double>(timer.nsecsElapsed()) / 1e6;
        hits += canvas.hovered().has_value();
        sum += ms, worst = std::max(worst, ms);
    }
    for (int i = 0; i < 5; ++i) {
        timer.start();
        canvas.setChoice({}, {}, survey->datum.level);
        canvas.render(&target);
        whole += static_cast<double>(timer.nsecsElapsed()) / 5e6;
    }
    const double mean = sum / rounds;
    std::printf(
        "hover over %zu features, %zu lines in six views: mean %.2f of the 8 ms bar (worst %.2f), "
        "%.2f of a whole repaint; %d of %d found one\n",
        scene->features().size(), scene->lines().size(), mean / 8.0, worst / 8.0, mean / whole, hits, rounds);
    return hits > rounds / 2 ? 0 : 1;
}
