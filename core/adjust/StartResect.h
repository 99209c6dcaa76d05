// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/adjust/StartPoints.h"

namespace trammel::adjust {

/// One way in which a photograph may have been taken, given what the others have shown.
struct Orientation {
    StationState station;
    double cost = 0.0;  ///< sum of squared misses over σ
};

/// Orients one photograph on points known in plan, with their heights where known; heights of further levels
/// are unknowns along with the camera. Scaled orthographic camera with perspective put in by iteration
/// (DeMenthon & Davis 1995); where no two heights are known the image of a plane, which allows two tilts
/// (Oberkampf, DeMenthon & Davis 1996). Where that fails, or three points are all there is, directions all
/// around are tried. All are refined by Levenberg-Marquardt. Best first; empty when the points do not hold
/// the photograph.
std::vector<Orientation> orientStation(const Hypothesis& h, const Network& network, int station, bool edges);

/// A principal view that too little holds, put where it would stand if square: the adjustment then says what
/// hangs loose.
StationState squareOn(const Hypothesis& h, const Network& network, int station);

/// How many points orientStation could use.
int usablePoints(const Hypothesis& h, int station);

}  // namespace trammel::adjust
