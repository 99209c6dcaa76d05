// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <memory>

#include "core/adjust/Solution.h"
#include "core/base/Progress.h"

namespace trammel::adjust {

struct Options {
    double suspectProbability = 0.001;  ///< α of the test of one observation (Baarda's usual 0.1 %)
    int mostSuspects = 10;
    int mostIterations = 60;
    bool findSuspects = true;
    bool withCovariance = true;
    /// An adjustment of the same survey before it was changed: its values are the start wherever they serve
    /// (see core/adjust/WarmStart.h), and what it had set aside is tried aside first. The result is the same
    /// as without it, sooner. Null, or of no use: the start is found from the marks alone.
    std::shared_ptr<const Solution> previous{};
};

/// Least squares over everything the survey holds (marks, readings, references, priors), with its own start
/// values. Fails with one sentence that names the object when the survey is unsound (survey::check), when a
/// photograph shares nothing with the others, or when something is left undetermined.
Result<Solution> adjust(const survey::Survey& survey, const Options& options = {},
                        const Progress* progress = nullptr);

}  // namespace trammel::adjust
