// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <string>
#include <vector>

#include "core/survey/Survey.h"

namespace trammel::campaign {

/// Errors of many results in units of what was promised.
struct Count {
    int covered = 0, total = 0;
    double normalised = 0.0;  ///< sum of squared error / standard uncertainty
    void add(double error, double plusMinus) {
        ++total;
        covered += error <= plusMinus && error >= -plusMinus;
        normalised += 4 * (error / plusMinus) * (error / plusMinus);
    }
    void add(const Count& other) {
        covered += other.covered;
        total += other.total;
        normalised += other.normalised;
    }
    double share() const { return 100.0 * covered / (total > 0 ? total : 1); }
};

/// The survey's dimensions; for each point or circle its place against the datum; each radius; each angle
/// between an edge and the next of its level. A kind needs many values, or chance decides its share.
std::vector<survey::Dimension> wantedDimensions(const survey::Survey& survey);

/// The six shapes, `draws` surveys each on two threads: whether the ± (k = 2) covers the truth in 94 to 96 %
/// over everything and 92 to 98 % of each kind of dimension in each shape, and whether the sums of squared
/// residuals follow χ² (Kolmogorov and Smirnov's test). Few draws leave more room, as chance has it.
bool shapeCoverage(int draws);

}  // namespace trammel::campaign
