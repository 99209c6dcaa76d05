// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/render/Prism.h"
#include "core/render/Scene.h"

namespace trammel::render {

/// What a person could mark of one feature in one photograph.
struct Sighting {
    int camera = 0, feature = 0;
    std::vector<double>
        where;  ///< fractions along the feature (see `along`) that are clearly seen, ascending
};

struct SightOptions {
    /// The two sides of an edge must each stay one surface over this distance across it, so that a second
    /// edge close by cannot be taken for it.
    double clear_px = 4.5;
    double margin_px = 12.0;     ///< to the border of the picture
    double shortest_px = 40.0;   ///< seen run of an edge
    double leastRimPart = 0.65;  ///< of a hole or arc
    double flattestRim = 0.35;   ///< sine of the angle between line of sight and the rim's plane
};

/// Decides by ray casting from the entrance pupil: nothing in the way, and the picture changes there from
/// one surface to another (a corner: and the change turns there, it does not run straight through).
std::vector<Sighting> sightings(const Scene& scene, const SightOptions& options = {});

/// Image of a point of the part in the stored (upright, cropped) picture, px; NaN behind the camera.
Vec2 pictureOf(const Scene& scene, const SceneCamera& camera, const Vec3& point);

}  // namespace trammel::render
