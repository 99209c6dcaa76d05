// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <catch2/catch.hpp>

#include "core/adjust/Adjust.h"
#include "core/render/SceneFile.h"
#include "core/render/Truth.h"
#include "core/storage/SurveyFile.h"
#include "core/unfold/Placed.h"

/// The sample's survey, its adjustment and its truth.
namespace trammel::test {

inline const std::string kSampleFolder = TRAMMEL_SAMPLES "/stepped-board/";

inline const survey::Survey& sampleSurvey() {
    static const survey::Survey s = [] {
        auto loaded = storage::load(kSampleFolder + "stepped-board.trammel");
        if (!loaded) throw std::runtime_error(loaded.error().sentence());
        return *loaded;
    }();
    return s;
}

inline const adjust::Solution& sampleSolution() {
    static const adjust::Solution s = [] {
        auto solved = adjust::adjust(sampleSurvey());
        if (!solved) throw std::runtime_error(solved.error().sentence());
        return *solved;
    }();
    return s;
}

inline const render::Truth& sampleTruth() {
    static const render::Truth t = [] {
        auto scene = render::loadScene(kSampleFolder + "scene.json");
        if (!scene) throw std::runtime_error(scene.error().sentence());
        return render::truthOf(*scene);
    }();
    return t;
}

/// The true camera of a photograph, as an adjustment would give it.
inline adjust::StationResult trueStation(const std::string& name) {
    const survey::Id id = sampleTruth().ids.at(name);
    const survey::Station* s = survey::find(sampleSurvey().stations, id);
    if (!s) throw std::runtime_error("the sample has no photograph " + name);
    adjust::StationResult out;
    out.pose = sampleTruth().stations.at(id);
    out.constants = sampleTruth().groups.at(s->group);
    out.offset = s->photo.crop.offset();
    out.standOff_mm = out.pose.centre().norm();
    out.scale_px_per_mm = out.constants.c / out.standOff_mm;
    return out;
}

inline unfold::Arrangement arrangementOf(const std::vector<unfold::Placed>& features, double turn,
                                         unfold::Method method) {
    using unfold::View;
    return unfold::Arrangement({method,
                                unfold::boxOf(features, turn),
                                turn,
                                {View::Top, View::Bottom, View::Left, View::Right, View::Rear},
                                8.0,
                                20.0});
}

}  // namespace trammel::test
