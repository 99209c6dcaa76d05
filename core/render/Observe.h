// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "core/render/Scene.h"
#include "core/render/Sight.h"
#include "core/survey/Survey.h"

/// Surveys of a scene as a person would make them, straight from the truth: no picture is computed. For tests
/// and campaigns that need many draws of the noise.
namespace trammel::render {

struct ObserveOptions {
    std::uint64_t seed = 1;
    double sigma_px = 1.5;  ///< of a mark: a corner in x and in y, anything else across the line or rim
    bool fitted = false;    ///< marks of origin "fitted" with more points, instead of clicks by hand
    int edgePoints = 0, rimPoints = 0;  ///< 0: by hand 2 and 5, fitted 4 and 12; slots and curves have more
    bool noise = true;                  ///< false: exact values, with the same σ written beside them
    bool nominalReferences = false;     ///< references read what is printed on them; else truth plus noise
    std::vector<std::string> onlyStations;  ///< names; empty: all
    std::vector<std::string> dropStations;  ///< names
    int mostCalipers = -1;                  ///< distances and diameters by hand, the first so many; -1: all
    int mostDepths = -1;
    int mostTapes = -1;
    int mostReferences = -1;
    bool checkReadings = true;
    double focalPriorFraction = 0.10;  ///< σ of the principal distance; 0: free
    double k1Sigma = 0.5;              ///< 0: fixed at zero
};

/// Finds what can be seen once, then makes any number of surveys of it.
class Observer {
  public:
    explicit Observer(Scene scene, const SightOptions& sight = {});
    /// What is seen is given, not cast: for scenes without solids.
    Observer(Scene scene, std::vector<Sighting> seen)
        : scene_(std::move(scene)), sightings_(std::move(seen)) {}
    const Scene& scene() const { return scene_; }
    const std::vector<Sighting>& sightings() const { return sightings_; }
    /// Ids as in `truthOf`; features seen in no kept photograph are left out, with what depends on them.
    survey::Survey draw(const ObserveOptions& options) const;

  private:
    Scene scene_;
    std::vector<Sighting> sightings_;
};

/// One survey; for many use an Observer.
survey::Survey observe(const Scene& scene, const ObserveOptions& options);

/// Path of a photograph relative to the survey file.
std::string photographPath(const SceneCamera& camera);

}  // namespace trammel::render
