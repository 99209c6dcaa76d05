// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "core/base/Progress.h"
#include "core/base/Result.h"
#include "core/estimate/Problem.h"

namespace trammel::estimate {

enum class Engine {
    Normal,      ///< normal equations with elimination: large sparse problems
    Orthogonal,  ///< Householder QR of the whole Jacobian: small or badly conditioned problems
};

struct SolverOptions {
    Engine engine = Engine::Normal;
    int mostIterations = 60;
    double stepTolerance = 1e-11;  ///< settled when max |δ_j| √N_jj (step in σ of its unknown) falls below
    /// Settled also when five steps in a row lower the sum of squares by less than this and the full
    /// Gauss-Newton step promises less than a hundred times it: with 1e-6 the state is within a hundredth of
    /// its own σ. A direction that the data hardly hold, and that bends, is otherwise followed in ever
    /// smaller steps. For residuals in units of their σ only; 0: off.
    double floor = 0.0;
    double firstLambda = 1e-4;  ///< Marquardt's damping, relative to diag N
};

struct SolverReport {
    int iterations = 0;
    double sumOfSquares = 0.0;
    bool settled = false;
};

/// Levenberg-Marquardt (Marquardt 1963; gain control of Nielsen 1999) on the problem's state. The damping
/// goes to zero near the minimum, so that the last steps are pure Gauss-Newton. Error: NoConvergence or
/// Cancelled.
Result<SolverReport> solve(Problem& problem, const SolverOptions& options = {},
                           const Progress* progress = nullptr);

}  // namespace trammel::estimate
