// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <vector>

#include "core/estimate/Problem.h"

namespace trammel::estimate {

/// The active rows as one dense Jacobian (components × columns) and the vector e.
struct DenseSystem {
    MatX J;
    VecX e;
};
DenseSystem dense(const std::vector<Rows>& rows, int columns);

/// (JᵀJ)⁻¹ over all columns from a Householder QR of the column-scaled Jacobian: the condition number enters
/// once, not squared as with normal equations. For small or badly conditioned problems: cost grows with the
/// cube of the columns. Empty when a column depends on the others to within rounding.
MatX orthogonalCovariance(const std::vector<Rows>& rows, int columns);

}  // namespace trammel::estimate
