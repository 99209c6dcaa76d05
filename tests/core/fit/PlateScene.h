// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <fmt/core.h>

#include <catch2/catch.hpp>
#include <map>
#include <string>

#include "core/render/Picture.h"
#include "core/render/SceneFile.h"

namespace trammel {

/// An invented plate, 2 mm thick, seen from the top and from two sides at a slant. `shape`: JSON of its
/// outline and openings; holes named "hole" and "second" make the datum, 50 mm apart.
inline render::Scene plateScene(const std::string& shape) {
    const auto camera = [](const char* name, const char* view, const char* more) {
        return fmt::format(R"({{"name":"{}","view":"{}","lens":"l","standOff_mm":700,"aim":[21,12,0],
        "tilt_deg":[0.7,-0.6],"roll_deg":2.3,{}"cropMargin_px":60,"blur_px":0.8,"readNoise":0.003,
        "shotNoise":0.005,"backdrop":{{"normal":[0,0,1],"offset":-40,"colour":[0.03,0.03,0.03]}}}})",
                           name, view, more);
    };
    const std::string text = fmt::format(
        R"({{"title":"plate","levels":[{{"name":"face","height":0}}],
        "lenses":[{{"name":"l","focalLength_mm":50,"pixelPitch_mm":0.01,"frame_px":[3000,2000],
          "nominalStandOff_mm":700,"principalDistance_px":5350,"principalPointOffset_px":[3,-2],"k1":-0.2}}],
        "solids":[{{"name":"plate","bottom":-2,"top":0,"colour":[0.5,0.5,0.5],"wallColour":[0.1,0.1,0.1],
          {}}}],
        "readings":[{{"name":"r","quantity":"distance","objects":["hole","second"],"sigma":0.01}}],
        "datum":{{"origin":"hole","direction":"second"}},
        "cameras":[{},{},{}]}})",
        shape, camera("top", "top", ""), camera("one", "oblique", R"("azimuth_deg":-62,"offAxis_deg":27,)"),
        camera("two", "oblique", R"("azimuth_deg":39,"offAxis_deg":25,)"));
    auto loaded = render::sceneFromJson(text, "plate");
    if (!loaded) FAIL(loaded.error().sentence());
    return *loaded;
}

/// Its photographs, by station id.
inline std::map<std::string, photo::LinearImage> photographsOf(const render::Scene& s) {
    std::map<std::string, photo::LinearImage> pictures;
    for (std::size_t i = 0; i < s.cameras.size(); ++i) {
        const auto light = render::gatherLight(s, s.cameras[i]);
        pictures[fmt::format("S{}", i + 1)] = photo::linearLuminance(
            render::develop(render::expose(s.cameras[i], light, {}, i), s.cameras[i].curve));
    }
    return pictures;
}

}  // namespace trammel
