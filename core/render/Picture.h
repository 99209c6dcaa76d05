// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <filesystem>
#include <vector>

#include "core/base/Progress.h"
#include "core/base/Result.h"
#include "core/photo/Image.h"
#include "core/render/Scene.h"

/// The photograph of a scene. Every pixel is the mean light over its square, taken through the exact camera:
/// pixel (i, j) covers i ± ½, j ± ½, so (0, 0) is the centre of the first pixel. Squares that an edge may
/// cross are sampled at 64 points of a Hammersley set (each axis in 64 equal strata: an edge along a
/// pixel row is placed to 1/128 px), the others at their corners.
namespace trammel::render {

/// Linear light, RGB interleaved, of the upright crop.
struct Light {
    int width = 0, height = 0;
    std::vector<float> rgb;
};

struct PictureOptions {
    std::uint64_t seed = 1;  ///< of the noise
    int threads = 2;
    bool texture = true;  ///< false: plain surfaces, for measuring edges
    bool blur = true, noise = true;
};

/// Light on the sensor before the lens's blur, exposure and noise.
Light gatherLight(const Scene& scene, const SceneCamera& camera, const PictureOptions& options = {},
                  const Progress* progress = nullptr);

/// Blur, exposure and (when asked for) noise, still linear.
Light expose(const SceneCamera& camera, Light light, const PictureOptions& options, std::uint64_t stream);

/// The camera's curve and 8 bits.
photo::Image develop(const Light& light, Curve curve = Curve::Standard);

/// As the body stores an upright picture under this EXIF orientation.
photo::Image asStored(const photo::Image& upright, int orientation);

/// Writes one JPEG with EXIF for every camera of the scene, at `photographPath` below the folder.
Result<void> writePhotographs(const Scene& scene, const std::filesystem::path& folder,
                              const PictureOptions& options = {}, const Progress* progress = nullptr);

}  // namespace trammel::render
