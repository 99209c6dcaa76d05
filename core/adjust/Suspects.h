// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/adjust/Assess.h"

namespace trammel::adjust {

/// Index (into `assessments`) of the active observation that agrees least, or −1 when none is less likely
/// than `probability`. `immune` holds owners that cannot be set aside.
int worstDisagreement(const Network& network, const std::vector<Assessment>& assessments, double probability,
                      const std::vector<bool>& immune);

/// What a person is told about an observation that was set aside: how far it is off and what to do.
Suspect accuse(const Network& network, int owner, const Assessment& assessment);

}  // namespace trammel::adjust
