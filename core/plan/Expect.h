// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/adjust/Network.h"
#include "core/adjust/Solution.h"
#include "core/plan/StandIn.h"
#include "core/render/Observe.h"
#include "core/render/Truth.h"

/// The ± of a survey that has not been made.
namespace trammel::plan {

/// Which part of all that is planned a survey is to have.
struct Kept {
    std::vector<std::string> views;             ///< names of planned views
    std::vector<std::string> referenceLengths;  ///< kAlongX, kAlongY, kRaised
    Squaring squaring = Squaring::Level;        ///< a mirror serves the top view only; others then by level
    double markSigma_px = 0.15;
    std::map<std::string, double>
        factors{};  ///< of views by name: their marks' σ over markSigma_px; absent 1
    bool fitted = true;
};

/// The survey of the stand-in part with just that; `seed` 0: free of noise, else with marks and readings
/// drawn about their truth. Reference lengths that are not used lie in no photograph.
survey::Survey plannedSurvey(const render::Observer& observer, const Kept& kept, std::uint64_t seed = 0);

/// The survey's network with what is true as its state: no start values are sought.
Result<adjust::Network> networkAt(const survey::Survey& survey, const render::Truth& truth);

/// ± (k = 2), mm, of the survey's dimensions; a level of its own heights and the rest apart.
struct Expectation {
    double planWorst = 0.0,
           planTypical = 0.0;  ///< distances, positions, diameters; typical: root mean square
    std::string planWorstName;
    std::optional<double> heightWorst{}, heightTypical{};  ///< nothing: the part has one level
    std::string heightWorstName;
    int photographs = 0, features = 0, marks = 0;
    int unseen = 0;  ///< dimensions that no view would show clearly
    bool meets(const Task& task) const;
    /// Largest ± over what is wanted; 1 or less meets it.
    double share(const Task& task) const;
};

/// Options of the stand-in's sightings: a sliver of 2 px is enough to tell two edges apart when one knows of
/// it.
render::SightOptions planSight();

/// From the covariance at the truth. Refused where a photograph shows fewer than four features (an adjustment
/// then finds no start) or something is left undetermined, with the reason.
Result<Expectation> expect(const survey::Survey& survey, const render::Truth& truth);

/// The adjusted values with their covariance, as `expect` judges them, for tests: dimensions hold truth and
/// ±.
Result<adjust::Solution> solutionAt(const survey::Survey& survey, const render::Truth& truth);

}  // namespace trammel::plan
