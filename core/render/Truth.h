// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/render/Scene.h"

namespace trammel::render {

/// True geometry of one feature, mm in the part's frame.
struct FeatureTruth {
    std::string name;
    survey::FeatureKind kind = survey::FeatureKind::Corner;
    survey::Id level;
    Vec3 point = Vec3::Zero();                    ///< corner; centre of hole or arc; middle of an edge
    Vec2 direction = Vec2::UnitX();               ///< edge: unit vector along it
    double radius = 0.0;                          ///< hole, arc; half the width of a slot
    Vec3 from = Vec3::Zero(), to = Vec3::Zero();  ///< ends of an edge or arc; centres of a slot's ends
};

/// What the adjustment of a survey of the scene ought to find, by the ids that `observe` gives: features
/// F1..., levels L1..., stations S1..., groups G1... in the order of the scene.
struct Truth {
    std::map<survey::Id, FeatureTruth> features;
    std::map<survey::Id, double> levels;
    std::map<survey::Id, camera::Pose> stations;
    std::map<survey::Id, camera::Constants> groups;  ///< principal point of the upright frame of that group
    std::map<std::string, survey::Id> ids;           ///< of features, levels and photographs by name
    survey::Id datumOrigin;

    /// True value of a quantity between objects given by id (mm; rad for angles). An edge against an edge:
    /// from the middle of the first to the line of the second; depth is never negative.
    Result<double> value(survey::Quantity quantity, const std::vector<survey::Id>& objects) const;
};

Truth truthOf(const Scene& scene);

/// truth.json: features, levels, cameras, and the value of every dimension and reading of the scene.
Result<void> writeTruth(const Scene& scene, const std::filesystem::path& file);

}  // namespace trammel::render
