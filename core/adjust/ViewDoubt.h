// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/adjust/Adjust.h"
#include "core/adjust/Network.h"
#include "core/estimate/Covariance.h"

namespace trammel::adjust {

/// One way to read a photograph: from which side it was taken, and whether the picture is flipped.
struct ViewFit {
    survey::View view = survey::View::Top;  ///< the principal view nearest to the camera's direction
    bool mirrored = false;                  ///< left and right of the picture exchanged
    double misfit = 0.0;   ///< robust spread of its marks (1.48 × median), in σ of the marks
    double tilt = 0.0;     ///< rad, between the camera's axis and that view's
    StationState station;  ///< the camera so found; of the flipped picture when mirrored
};

/// Resects one photograph on features whose places the network's state holds (`known`, by feature), without
/// regard to the view it was given: from each of the 24 directions along the axes, as it is and flipped, by
/// least squares twice, the second time without what lies far off. The best of each view and side first.
/// Empty when fewer than four of its points lie on known features.
///
/// A camera far away sees the flipped front as the rear: the two then differ by the perspective only, and
/// both come out with nearly the same misfit.
///
/// With `others` (a network of the same survey, and the covariance of its unknowns) each residual is weighed
/// by its predicted σ: a corner that the others see edge on may lie anywhere along their line of sight.
struct Others {
    const Network& network;
    const estimate::CovarianceFactor& covariance;
};
std::vector<ViewFit> fitViews(const Network& network, int station, const std::vector<bool>& known,
                              const Others* others = nullptr);

/// A photograph that fits another view, or flipped, far better than as it was given.
struct ViewDoubt {
    Id station;
    survey::View given = survey::View::Top;
    double asGiven = 0.0;  ///< misfit as given; infinite where no camera of that view was found
    ViewFit best;
    std::optional<ViewFit> orElse;  ///< fits nearly as well
    Cause cause = Cause::Unknown;   ///< MirroredPhotograph or WrongView
    std::string sentence;
};

/// Judges the fits of one photograph: nothing when as it was given it does as well as any other way, or when
/// no way fits.
std::optional<ViewDoubt> judgeView(const survey::Survey& survey, int station,
                                   const std::vector<ViewFit>& fits);

/// A survey with the marks of one photograph flipped left to right, as its picture would be.
survey::Survey flipPhotograph(survey::Survey survey, const Id& station);

/// The survey adjusted without one photograph, and without the features that then hang loose.
struct Without {
    std::shared_ptr<const survey::Survey> survey;  ///< what was adjusted; the network refers to it
    std::shared_ptr<Network> network;
    std::shared_ptr<estimate::CovarianceFactor> covariance;
    double varianceFactor = 0.0;
    std::vector<bool> known;  ///< features whose places are now known
};
Result<Without> adjustWithout(const survey::Survey& survey, int station, const Options& options,
                              const Progress* progress);

/// Asks all other photographs what one of them shows.
std::optional<ViewDoubt> doubtView(const survey::Survey& survey, int station, const Without& others);

/// Marks of the photograph that lie more than eight σ of their prediction off where the others show their
/// features, with the camera as it fits best in the view given, not flipped; `misfit` is that fit's. Nothing
/// where the photograph cannot be resected on the others.
struct FarOff {
    std::vector<Id> marks;
    double misfit = 0.0;
    int all = 0;  ///< marks of the photograph that were looked at
};
std::optional<FarOff> farOff(const survey::Survey& survey, int station, const Without& others);

}  // namespace trammel::adjust
