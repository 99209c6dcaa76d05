// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "Campaign.h"
#include "core/survey/Survey.h"

namespace trammel::campaign {

/// A fitted mark farther than this from the true image of its feature is on another edge.
constexpr double kMeant_px = 1.0;

/// Where the features of a sample's survey are really seen in its photographs.
class TrueImages {
  public:
    TrueImages(const Sample& sample, const survey::Survey& survey) : sample_(sample), survey_(survey) {}

    /// Root of the mean square distance of the mark's points from its feature's true image, px.
    double distance(const survey::Mark& mark) const;
    /// The same for one point.
    double distance(const survey::Mark& mark, const Vec2& px) const;

  private:
    std::vector<Vec2> image(const survey::Id& station, const survey::Id& feature) const;

    const Sample& sample_;
    const survey::Survey& survey_;
};

}  // namespace trammel::campaign
