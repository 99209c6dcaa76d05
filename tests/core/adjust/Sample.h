// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <catch2/catch.hpp>

#include "core/adjust/Adjust.h"
#include "core/adjust/Covariance.h"
#include "core/adjust/Network.h"
#include "core/adjust/Start.h"
#include "core/render/Observe.h"
#include "core/render/SceneFile.h"
#include "core/render/Truth.h"

/// The sample scene, its truth, and surveys of it.
namespace trammel::test {

inline const render::Observer& observer() {
    static const render::Observer o = [] {
        auto scene = render::loadScene(TRAMMEL_SAMPLES "/stepped-board/scene.json");
        if (!scene) throw std::runtime_error(scene.error().sentence());
        return render::Observer(*scene);
    }();
    return o;
}

inline const render::Truth& truth() {
    static const render::Truth t = render::truthOf(observer().scene());
    return t;
}

/// Clicks by hand (1.5 px) or fitted marks (0.1 px).
inline render::ObserveOptions marks(bool fitted, std::uint64_t seed) {
    render::ObserveOptions options;
    options.seed = seed;
    options.fitted = fitted;
    options.sigma_px = fitted ? 0.1 : 1.5;
    return options;
}

inline survey::Survey draw(bool fitted, std::uint64_t seed) { return observer().draw(marks(fitted, seed)); }

/// How far the adjusted features lie from the truth: root mean square of the x and y of those holes and
/// corners that the photographs hold to a millimetre or better. (A corner seen edge on only may lie anywhere
/// along the line of sight, and its ± says so.)
inline double planError(const adjust::Solution& solution) {
    double sum = 0.0;
    int count = 0;
    const survey::Id origin = solution.covariance->survey().datum.origin;
    for (const auto& [id, g] : solution.features) {
        if (g.kind == survey::FeatureKind::Edge || g.kind == survey::FeatureKind::Arc || id == origin)
            continue;
        for (int k = 0; k < 2; ++k) {
            survey::Dimension d;
            d.quantity = k == 0 ? survey::Quantity::OffsetX : survey::Quantity::OffsetY;
            d.objects = {origin, id};
            const auto measured = solution.measure(d);
            if (!measured || measured->plusMinus > 2.0) continue;
            sum += std::pow(g.point[k] - test::truth().features.at(id).point[k], 2);
            ++count;
        }
    }
    REQUIRE(count > 40);
    return std::sqrt(sum / count);
}

inline double heightError(const adjust::Solution& solution) {
    double worst = 0.0;
    for (const auto& [id, z] : solution.levels) worst = std::max(worst, std::abs(z - truth().levels.at(id)));
    return worst;
}

/// The object of a list with this name.
template <class T>
T& named(std::vector<T>& list, const std::string& name) {
    for (T& item : list)
        if (item.name == name) return item;
    throw std::runtime_error("no " + name);
}

}  // namespace trammel::test
