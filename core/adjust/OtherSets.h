// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <optional>
#include <vector>

#include "core/adjust/Round.h"

namespace trammel::adjust {

/// A set of owners that take no part, and what it costs to explain the data so: the sum of squares of the
/// rest, the components left out (each would have added one), and 2 ln(1/α) for each owner, α being how often
/// one is accused by chance. Of two ways to explain the same data the cheaper is the likelier,
/// exp(difference/2) to one.
struct LeftOut {
    std::vector<int> owners;
    double cost = 0.0;
    State state;
};

/// Looks for a cheaper way to explain the data than leaving out `aside`. A large mistake in one mark of a
/// feature drags the feature along, so that its sound marks are set aside one after the other, and greedy
/// exchanges of single ones do not lead back. So, for each feature that lost a mark or whose reading was set
/// aside: each of its marks left out alone (instead of all that is set aside, and instead of the feature's
/// own), two where it has four or more, and with another such feature the two marks of one photograph, which
/// may be exchanged. Each is adjusted anew with the feature intersected anew, starting from the network's
/// state.
class OtherSets {
  public:
    /// `eligible`: owners that may take part (not excluded by the user).
    OtherSets(Network& network, const Options& options, const Progress* progress, std::vector<bool> eligible);

    double cost(const std::vector<int>& aside, double sum) const;
    /// Leaves the network as it was. Nothing where none is cheaper by more than a few.
    std::optional<LeftOut> cheaper(const std::vector<int>& aside, double sum);
    /// Sets who takes part.
    void take(const std::vector<int>& aside);

  private:
    struct Seen {
        int owner = 0, station = 0;
    };
    std::vector<int> doubtful(const std::vector<int>& aside) const;
    std::vector<std::vector<int>> sets(const std::vector<int>& aside) const;
    LeftOut tryOut(std::vector<int> aside, const State& from, int iterations);
    void intersect(const std::vector<int>& features);

    Network& n_;
    const Options& options_;
    const Progress* progress_;
    std::vector<bool> eligible_;
    std::vector<int> components_;           ///< of each owner
    std::vector<int> featureOf_;            ///< of each mark, −1 for others
    std::vector<std::vector<Seen>> marks_;  ///< of each feature
};

}  // namespace trammel::adjust
