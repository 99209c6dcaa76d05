// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "core/base/Result.h"
#include "core/math/Types.h"

/// Whether a pattern of screws fits a pattern of holes of which both are known only so well.
///
/// A counterpart is made with its screws at the surveyed places. The real hole i lies elsewhere by e_i and
/// has its own diameter D_i; the screw of diameter d_i goes in where |e_i − t_i| ≤ (D_i − d_i)/2 + play_i,
/// t_i being how far the counterpart is shifted and turned there. (e, D) is normal with the survey's
/// covariance; each screw's place errs by its own normal amount besides. Probabilities are shares of draws
/// (JCGM 101:2008, propagation of distributions): the lens-shaped limits have no closed form.
namespace trammel::mount {

struct PatternHole {
    Vec2 place = Vec2::Zero();  ///< mm
    double diameter = 0.0;      ///< mm, as surveyed
    double screw = 0.0;         ///< mm, the largest diameter of the thread
    double play = 0.0;          ///< mm, radial, that the counterpart's own hole adds; 0: tapped
};

struct FitTerms {
    MatX covariance;          ///< k = 1, mm²; rows x1, y1, D1, x2, y2, D2, …
    double made_sigma = 0.0;  ///< mm, standard uncertainty of each screw's x and y in the counterpart
    int draws = 100000;       ///< at most; of patterns of many holes fewer, down to a tenth
    std::uint64_t seed = 1;
};

struct FitChance {
    std::vector<double> each;  ///< that hole alone takes its screw, the counterpart placed by the datum
    double all = 0.0;          ///< that all do so at once
    double shifted = 0.0;      ///< that all do when the counterpart is shifted and turned to fit best
    int draws = 0;
    /// Standard uncertainty of a probability p of these draws, from their number alone.
    double sigmaOf(double p) const;
};

/// Refused (BadValue): no hole, more than 400, a covariance of another size, values that are no numbers,
/// a negative variance, draws below 1000 or above ten million.
Result<FitChance> fitChance(const std::vector<PatternHole>& holes, const FitTerms& terms);

/// Whether a shift and a small turn of the whole bring every error within its clearance (mm, > 0). The turn
/// counts to first order: a pattern of 1 m turned by 1 mm bends it by 0.5 µm. Exact to 1e-4 of a clearance.
bool fitsShifted(const std::vector<Vec2>& places, const std::vector<Vec2>& errors,
                 const std::vector<double>& clearances);

}  // namespace trammel::mount
