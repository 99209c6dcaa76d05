// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <vector>

#include "core/adjust/Network.h"

namespace trammel::adjust {

/// A point that start values are built on: a corner, the middle of a hole, or where two edges of a level meet
/// (the images of the edges meet in the image of that point).
struct StartPoint {
    int feature = -1;       ///< corner or hole; −1: two edges
    int level = -1;         ///< −1: free in space
    Vec3 p = Vec3::Zero();  ///< z counts only when free
    bool plan = false;      ///< x and y are known
    bool space = false;     ///< and so is z
};

/// The point in one photograph, distortion as given taken off, px of the full frame.
struct Sighting {
    int station = 0, point = 0;
    Vec2 px = Vec2::Zero();
    double sigma = 1.0;  ///< rough: a rim's middle is worse than a corner
};

struct StartPoints {
    std::vector<StartPoint> points;
    std::vector<Sighting> seen;
};

/// All points of the active marks. Meetings of edges are added only where a photograph shows few other
/// points.
StartPoints collectPoints(const Network& network);

/// What of the start is already known.
struct Known {
    std::vector<bool> station, featurePlan, level;
};

/// One way in which the photographs may have been taken. Where marks allow two, both are followed.
struct Hypothesis {
    State state;
    StartPoints points;
    Known known;
    int zeroLevel = 0;  ///< the level whose height is held at zero; most often the datum level
    double cost = 0.0;  ///< sum of squared misses of the points over their σ

    Vec3 position(const StartPoint& point) const {
        return {point.p.x(), point.p.y(), point.level < 0 ? point.p.z() : state.levels[at(point.level)]};
    }
};

}  // namespace trammel::adjust
