// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/estimate/Orthogonal.h"

#include <Eigen/QR>

namespace trammel::estimate {

DenseSystem dense(const std::vector<Rows>& rows, int columns) {
    Eigen::Index count = 0;
    for (const Rows& row : rows) count += row.active ? row.components : 0;
    DenseSystem out{MatX::Zero(count, columns), VecX(count)};
    Eigen::Index at = 0;
    for (const Rows& row : rows) {
        if (!row.active) continue;
        for (std::size_t k = 0; k < static_cast<std::size_t>(row.components); ++k, ++at) {
            for (std::size_t i = 0; i < static_cast<std::size_t>(row.count); ++i)
                out.J(at, row.column[i]) += row.J[k][i];
            out.e[at] = row.e[k];
        }
    }
    return out;
}

MatX orthogonalCovariance(const std::vector<Rows>& rows, int columns) {
    DenseSystem system = dense(rows, columns);
    if (system.J.rows() < columns) return {};
    const VecX scale = system.J.colwise().norm().cwiseMax(1e-300).cwiseInverse().transpose();
    const Eigen::ColPivHouseholderQR<MatX> qr(system.J * scale.asDiagonal());
    if (qr.rank() < columns) return {};
    // Σ = S P R⁻¹ R⁻ᵀ Pᵀ S
    MatX root = MatX::Identity(columns, columns);
    qr.matrixR().topRows(columns).triangularView<Eigen::Upper>().solveInPlace(root);
    root = scale.asDiagonal() * (qr.colsPermutation() * root);
    return root * root.transpose();
}

}  // namespace trammel::estimate
