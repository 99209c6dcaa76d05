// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <fmt/core.h>

#include <catch2/catch.hpp>
#include <string>

#include "core/render/SceneFile.h"

namespace trammel::render::test {

/// A slab with a hole before cameras of every view, strong distortion, roll and tilt; walls and backdrop are
/// of one black, so that nothing but the edge in question changes the light.
inline std::string slabScene() {
    const auto camera = [](const char* name, const char* view, const char* more, const char* normal,
                           double offset) {
        return fmt::format(R"({{"name":"{}","view":"{}","lens":"l","standOff_mm":1200,"aim":[21,12,1],
            "tilt_deg":[0.7,-0.6],"roll_deg":2.3,{}"cropMargin_px":60,
            "backdrop":{{"normal":{},"offset":{},"colour":[0,0,0]}}}})",
                           name, view, more, normal, offset);
    };
    return fmt::format(
        R"({{"title":"slab","levels":[{{"name":"upper","height":0}},{{"name":"lower","height":-30}}],
        "lenses":[{{"name":"l","focalLength_mm":50,"pixelPitch_mm":0.01,"frame_px":[3000,2000],
          "nominalStandOff_mm":1200,"principalDistance_px":9000,"principalPointOffset_px":[13,-7],"k1":-1.5}}],
        "solids":[{{"name":"slab","bottom":-30,"top":0,"colour":[0.6,0.6,0.6],"wallColour":{},
          "insideColour":[0,0,0],
          "outline":[{{"at":[-20,-15],"edge":"front","edgeBelow":"front below"}},
            {{"at":[60,-15],"edge":"right","edgeBelow":"right below"}},
            {{"at":[60,40],"edge":"rear","edgeBelow":"rear below"}},
            {{"at":[-20,40],"edge":"left","edgeBelow":"left below"}}],
          "holes":[{{"name":"hole","at":[0,0],"diameter":16,"below":"hole below"}},
            {{"name":"second","at":[40,0],"diameter":5}}]}}],
        "datum":{{"origin":"hole","direction":"second"}},
        "cameras":[{},{},{},{},{},{},{},{}]}})",
        "[0.2,0.2,0.2]", camera("from top", "top", "", "[0,0,1]", -60),
        camera("from below", "bottom", "", "[0,0,1]", 60),
        camera("from front", "front", R"("orientation":3,)", "[0,1,0]", 90),
        camera("from rear", "rear", "", "[0,1,0]", -90),
        camera("from right", "right", R"("orientation":6,)", "[1,0,0]", -90),
        camera("from left", "left", R"("orientation":8,)", "[1,0,0]", 90),
        camera("one", "oblique", R"("azimuth_deg":-62,"offAxis_deg":33,)", "[0,0,1]", -60),
        camera("two", "oblique", R"("azimuth_deg":29,"offAxis_deg":31,)", "[0,0,1]", -60));
}

inline Scene slab() {
    auto loaded = sceneFromJson(slabScene(), "slab");
    if (!loaded) FAIL(loaded.error().sentence());
    return *loaded;
}

inline const Scene& sample() {
    static const Scene scene = [] {
        auto loaded = loadScene(TRAMMEL_SAMPLES "/stepped-board/scene.json");
        REQUIRE(loaded);
        return *loaded;
    }();
    return scene;
}

}  // namespace trammel::render::test
