// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "Mistakes.h"

namespace trammel::campaign {

/// What the best judge could make of a mistake too large for a first-order estimate, found by solving: the
/// spoilt survey is adjusted from the truth with the guilty left out, with them taking part, and with others
/// left out in their place. Sets `power` to 0 where they agree when they take part (a hole marked in one
/// photograph only is then simply somewhere else), and `undecidable` where one other observation, or the
/// marks of the same features in another photograph, left out instead does so nearly as well that it is not
/// 20 to 1 against it.
void weighBySolving(const adjust::State& truth, Spoilt& spoilt);

}  // namespace trammel::campaign
