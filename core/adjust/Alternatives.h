// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/adjust/Assess.h"

namespace trammel::adjust {

/// An observation that was set aside, with those that may be wrong in its place.
struct SetAside {
    int owner = 0;
    struct Alternative {
        int owner = 0;
        double error = 0.0;  ///< px, mm or rad: of this one, if it is the one that is wrong
        std::vector<std::string>
            dimensions{};  ///< sentences: what then is other than printed, and by how much
    };
    std::vector<Alternative> alternatives{};  ///< likeliest first
    Assessment seen{};                        ///< with alternatives: its test while they still took part
    bool bothAside =
        false;  ///< false with alternatives: they still take part, nothing else holds what they hold
    std::string decidedBy{};  ///< a sentence, or empty
};

/// What the data say about blaming `other`, which takes part, in place of one that was set aside.
struct Exchange {
    int other = 0;
    /// Change of the sum of squares (less the number of components each side leaves out) when the one comes
    /// back and the other goes. Twice the log of how much likelier the data make the present choice;
    /// negative: the exchange explains them better. For single components and equal redundancy w²(1 − ρ²), ρ
    /// the correlation of the two tests (Förstner 1983): 0 where the two cannot be told apart.
    double loss = 0.0;
    int freedom = 0;  ///< components that the other leaves out less those that the one brings back
    double logProbability = 0.0;  ///< ln, of the one that came back, without the other
    VecX move;                    ///< what the exchange does to the unknowns
    MatX gone, back;              ///< Σ J_otherᵀ; Σ' J_oneᵀ, and the inverses that go with them
    MatX goneInverse, backInverse;

    /// Variance of a function after the exchange, from its variance before.
    double variance(double before, const estimate::Gradient& f) const;
};

/// To first order, without solving: the exchange of owner `one`, not taking part, for each of those that do
/// and share something with it. Those with `loss` below `limit` only, likeliest first.
std::vector<Exchange> exchanges(const Influence& influence, const std::vector<Assessment>& assessments,
                                int one, double limit);

/// The further reading, or mark in a photograph at hand, that would tell `one` from the exchange best, as a
/// sentence; empty when none would tell with a difference of three σ.
std::string decidingReading(const Influence& influence, int one, const Exchange& exchange);

}  // namespace trammel::adjust
