// SPDX-License-Identifier: GPL-3.0-or-later
#include "RandomShapes.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "AtTruth.h"

namespace trammel::campaign {
namespace {

using survey::FeatureKind;
using survey::View;

constexpr double kDegree = std::numbers::pi / 180.0;

double between(render::Random& random, double low, double high) {
    return low + (high - low) * random.uniform();
}
int integer(render::Random& random, int low, int high) {
    return low + static_cast<int>(random.uniform() * (high - low + 1));
}

void randomPart(ShapeMaker& m, bool stepped) {
    render::Random& r = m.random();
    const double width = between(r, 60, 400), height = width * between(r, 0.4, 0.9);
    m.plate(width, height, integer(r, 2, 6));
    const int blocks = integer(r, stepped ? 1 : 0, 4);
    for (int i = 0; i < blocks; ++i) {
        const double w = width * between(r, 0.15, 0.4), h = height * between(r, 0.2, 0.5);
        const Vec2 from(between(r, 0.0, width * 0.8 - w), between(r, 0.0, height * 0.8 - h));
        const double rise = width * between(r, 0.03, 0.25) * (r.uniform() < 0.75 ? 1 : -0.4);
        m.block(rise, from, from + Vec2(w, h), r.uniform() < 0.4 ? 0.15 * std::min(w, h) : 0.0);
    }
}

void obliques(ShapeMaker& m, int count, int lens, double least = 20.0) {
    render::Random& r = m.random();
    const double first = between(r, 0, 360);
    for (int i = 0; i < count; ++i)
        m.camera(fmt::format("oblique {}", i + 1), View::Oblique, lens,
                 (first + (360.0 * i) / count + between(r, -20, 20)) * kDegree,
                 between(r, least, 55) * kDegree, between(r, -30, 30) * kDegree);
}

void randomCameras(ShapeMaker& m, Hard hard) {
    render::Random& r = m.random();
    const bool longLens = hard == Hard::TopObliques || r.uniform() < 0.6;
    const int lens = m.lens(longLens ? between(r, 300, 1000) : between(r, 35, 85));
    m.camera("top", View::Top, lens, 0, 0, between(r, -5, 5) * kDegree);
    if (hard == Hard::TopObliques) return obliques(m, integer(r, 2, 4), lens, 25.0);
    const View sides[] = {View::Front, View::Right, View::Rear, View::Left, View::Bottom};
    const int count = integer(r, 0, 5);
    for (int i = 0; i < count; ++i)
        m.camera(std::string(survey::viewName(sides[i])), sides[i], lens, 0, 0, between(r, -5, 5) * kDegree);
    obliques(m, integer(r, count >= 2 ? 0 : 2, 6), lens);
}

/// Turns each square camera up to 20° away from its view.
void tilt(Shape& shape, render::Random& r) {
    for (render::SceneCamera& c : shape.scene.cameras) {
        if (c.view == View::Oblique) continue;
        const double angle = between(r, 5, 20) * kDegree, towards = between(r, 0, 2 * std::numbers::pi);
        c.tiltX = angle * std::cos(towards);
        c.tiltY = angle * std::sin(towards);
    }
}

Shape randomShape(Hard hard, std::uint64_t seed) {
    ShapeMaker m(fmt::format("random {}", seed), seed);
    randomPart(m, hard == Hard::TopObliques || hard == Hard::Tilted);
    randomCameras(m, hard);
    render::Random& r = m.random();
    Shape& s = m.shape();
    s.fitted = r.uniform() < 0.4;
    s.sigma_px = s.fitted ? between(r, 0.1, 0.4) : between(r, 0.8, 2.0);
    s.focalPrior = between(r, 0.03, 0.12);
    s.squareSigma = between(r, 0.01, 0.04);
    if (hard == Hard::Tilted) tilt(s, r);
    m.look(between(r, 0.7, 1.0), between(r, 0.6, 1.0));
    m.readings(integer(r, 1, 12), between(r, 0.02, 0.1), r.uniform() < 0.3);
    // A tilted camera says nothing of itself: its prior is off, or as wide as the tilt. Then nothing is
    // drawn.
    const bool off = r.uniform() < 0.5;
    if (hard == Hard::Tilted) s.squareSigma = 0.0;
    if (hard == Hard::Tilted && !off) s.scene.note = "wide prior";
    if (hard == Hard::TopObliques)
        std::erase_if(s.scene.readings,
                      [](const auto& reading) { return reading.quantity == survey::Quantity::Depth; });
    return m.take();
}

bool isPoint(const survey::Survey& s, const survey::Mark& mark) {
    const FeatureKind kind = find(s.features, mark.feature)->kind;
    return kind == FeatureKind::Corner || kind == FeatureKind::Hole;
}

/// Leaves three marked points in one photograph other than the first.
void thin(survey::Survey& s, render::Random& r) {
    const survey::Id id =
        s.stations[1 + static_cast<std::size_t>(r.uniform() * (s.stations.size() - 1.0))].id;
    std::vector<std::pair<double, survey::Id>> order;
    for (const survey::Mark& mark : s.marks)
        if (mark.station == id && isPoint(s, mark)) order.emplace_back(r.uniform(), mark.id);
    std::sort(order.begin(), order.end());
    std::set<survey::Id> kept;
    for (std::size_t i = 0; i < order.size() && i < 3; ++i) kept.insert(order[i].second);
    std::erase_if(s.marks, [&](const auto& mark) { return mark.station == id && !kept.contains(mark.id); });
}

/// Removes what no mark shows any more, and what depends on it.
void dropUnseen(survey::Survey& s) {
    std::set<survey::Id> seen;
    for (const survey::Mark& m : s.marks) seen.insert(m.feature), seen.insert(m.station);
    std::erase_if(s.features, [&](const auto& f) { return !seen.contains(f.id); });
    std::erase_if(s.stations, [&](const auto& st) { return !seen.contains(st.id); });
    for (const survey::Feature& f : s.features) seen.insert(f.level);
    std::erase_if(s.levels, [&](const auto& l) { return l.id != s.datum.level && !seen.contains(l.id); });
    for (const survey::Level& l : s.levels) seen.insert(l.id);
    const auto dangling = [&](const auto& r) {
        return std::any_of(r.objects.begin(), r.objects.end(),
                           [&](const auto& id) { return !seen.contains(id); });
    };
    std::erase_if(s.readings, dangling);
    std::erase_if(s.dimensions, dangling);
}

}  // namespace

const char* hardName(Hard hard) {
    switch (hard) {
        case Hard::Plain:
            return "plain";
        case Hard::Tilted:
            return "views 5 to 20 degrees off, prior wide or off";
        case Hard::ThreeMarks:
            return "one view with three marks";
        case Hard::TopObliques:
            return "long lens, top and obliques, no height known";
    }
    return "";
}

Drawn randomSound(Hard hard, std::uint64_t seed) {
    for (std::uint64_t attempt = 0;; ++attempt) {
        const std::uint64_t own = (seed * 1000 + attempt) * 8 + static_cast<std::uint64_t>(hard);
        const Shape shape = randomShape(hard, own);
        Drawn drawn = draw(shape, own);
        if (shape.scene.note == "wide prior")
            for (survey::Station& s : drawn.survey.stations) s.squareSigma_rad = 20 * kDegree;
        render::Random r(own ^ 0x5bd1e995u);
        if (hard == Hard::ThreeMarks && drawn.survey.stations.size() > 1) thin(drawn.survey, r);
        dropUnseen(drawn.survey);
        if (sound(drawn)) return drawn;
    }
}

}  // namespace trammel::campaign
