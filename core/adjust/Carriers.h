// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/adjust/Influence.h"
#include "core/adjust/Solution.h"

namespace trammel::adjust {

/// Which observations carry a quantity: the variance of a least-squares function f is a sum over the
/// observations, fᵀΣf = Σ_i (fᵀΣJ_iᵀ)², since Σ = (ΣJ_iᵀJ_i)⁻¹; each term is what that observation's own
/// σ contributes. Shares of marks, readings and priors are summed by owner, largest first; those below 2 %
/// are left out. Empty for what the datum fixes.
std::vector<Carrier> carriers(const Influence& influence, const estimate::Gradient& quantity,
                              std::size_t most = 6);

}  // namespace trammel::adjust
