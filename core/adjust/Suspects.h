// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/adjust/Alternatives.h"

namespace trammel::adjust {

/// Index (into `assessments`) of the active observation that agrees least, or −1 when none is less likely
/// than `probability`. `immune` holds owners that cannot be set aside.
int worstDisagreement(const Network& network, const std::vector<Assessment>& assessments, double probability,
                      const std::vector<bool>& immune);

/// What a person is told of what was set aside, worst first: how far each is off, its cause where one is
/// found, and what to do. `influence` and `assessments` at the final state.
std::vector<Suspect> nameSuspects(const Influence& influence, const std::vector<Assessment>& assessments,
                                  const std::vector<SetAside>& aside);

}  // namespace trammel::adjust
