// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <string>

#include "EdgesScene.h"
#include "core/fit/EdgeFit.h"

/// One picture drawn at random, the hand's clicks in it, and what a fit makes of them.
namespace trammel::campaign::edges {

struct Draw {
    Shape shape;
    Surfaces surfaces;
    Camera camera;
    double contrast = 0.0;   ///< of full scale, luminance
    double hand_px = 1.5;    ///< standard error of a click
    bool darkInside = true;  ///< the disc or wedge is the darker surface
    photo::Image picture;
    std::vector<Vec2> clicks;  ///< the edge's ends; eight points of a rim; a corner and a point on either leg
    MatX bound;                ///< Cramér–Rao, covariance of the unknowns of place

    double length_px = 200.0, leg_px = 40.0;
};

struct DrawOptions {
    Kind kind = Kind::Edge;
    double colourful = 0.8;
    int lowestQuality = 75, highestQuality = 95;
    double mostNoise = 0.03;
    bool halved = true;  ///< half of the pictures store colour at half size
    bool withBound = true;
};

/// Blur 0.5–2.5 px, contrast 10–80 %, noise 0–3 %, quality 75–95, any direction and colour.
Draw draw(std::mt19937& random, const DrawOptions& options, const std::filesystem::path& scratch);

/// Errors of what was found and their predicted variances. Edge: across, positive towards the lighter
/// surface. Hole: centre x, y and diameter. Corner: x, y.
struct Found {
    VecX error;
    VecX sigma;
    double blur = 0.0, blurSigma = 0.0;
};

/// Our fit; the refusal's sentence where it refuses.
Result<Found> fitted(const Draw& draw);

/// What a fit's points say as a whole, against the truth.
Found compared(const Draw& draw, const fit::Fit& fit);

/// The bound on the same errors.
VecX boundOf(const Draw& draw);

}  // namespace trammel::campaign::edges
