// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Carriers.h"

#include <algorithm>

namespace trammel::adjust {

std::vector<Carrier> carriers(const Influence& influence, const estimate::Gradient& quantity,
                              std::size_t most) {
    constexpr double kLeastShare = 0.02;
    const VecX reach = influence.covariance().times(quantity);
    double variance = 0.0;
    for (const auto& [column, d] : quantity)
        if (column >= 0) variance += d * reach[column];
    std::vector<Carrier> out;
    if (!(variance > 0)) return out;
    for (int o = 0; o < influence.owners(); ++o) {
        const Owner& owner = influence.network().owners()[at(o)];
        if (!owner.active || influence.rows(o).e.empty()) continue;
        const double share = along(influence.rows(o), reach).squaredNorm() / variance;
        if (share >= kLeastShare) out.push_back({owner.object, owner.description, share});
    }
    std::sort(out.begin(), out.end(), [](const Carrier& a, const Carrier& b) { return a.share > b.share; });
    if (out.size() > most) out.resize(most);
    return out;
}

}  // namespace trammel::adjust
