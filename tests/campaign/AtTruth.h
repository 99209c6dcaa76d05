// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "Shapes.h"
#include "core/adjust/Network.h"
#include "core/base/Result.h"

namespace trammel::campaign {

/// The survey with its true geometry and cameras as state.
Result<adjust::Network> atTruth(const Drawn& drawn);

/// What the least-squares minimum next to the truth looks like, found without any start of the program's own.
struct Minimum {
    double sumOfSquares = 0.0;
    adjust::State state;
    bool determined = true;  ///< whether the observations hold all unknowns there
};
Result<Minimum> minimumFromTruth(const Drawn& drawn);

/// Whether marks and readings hold everything at the truth: full rank, and every corner, hole, arc and level
/// with a standard uncertainty below a twentieth of the part's size. Edges seen only edge on may be loose.
bool sound(const Drawn& drawn);

}  // namespace trammel::campaign
