// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>

#include "core/render/Prism.h"

namespace trammel::render {

/// What the camera sees along one ray: linear light, and a number that differs between surfaces that may
/// differ in brightness (faces, walls, paint), so that the picture is sampled finely where it changes.
struct Look {
    Vec3 light = Vec3::Zero();
    int surface = 0;
};

/// Lambert's law under a key light from the upper left behind the camera, with soft shadows, and a soft light
/// from all around. The key light is eight points on a disc; one look asks two of them, chosen by its number
/// modulo four, so that four looks with numbers 0..3 together see the whole disc.
class Shader {
  public:
    Shader(const Scene& scene, const SceneCamera& camera, bool texture);
    Look look(const Ray& ray, int number) const;

  private:
    Vec3 ownColour(const Hit& hit, int& mark) const;
    double keyLight(const Hit& hit, int number) const;

    const Scene& scene_;
    const SceneCamera& camera_;
    World world_;
    bool texture_;
    std::array<Vec3, 8> keys_;  ///< unit vectors to the points of the light, part's axes
    Vec3 axis_;                 ///< optical axis
};

}  // namespace trammel::render
