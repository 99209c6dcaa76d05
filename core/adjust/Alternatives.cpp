// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Alternatives.h"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>

namespace trammel::adjust {
namespace {

/// Under this much of one residual in the other they have nothing to do with each other.
constexpr double kTouching = 0.05;

/// Inverse with every eigenvalue at least `floor`; counts those in the given range.
MatX flooredInverse(const MatX& Q, double floor, double low, double high, int& rank) {
    const Eigen::SelfAdjointEigenSolver<MatX> eigen(Q);
    rank = 0;
    for (Eigen::Index i = 0; i < Q.rows(); ++i)
        rank += eigen.eigenvalues()[i] > low && eigen.eigenvalues()[i] < high ? 1 : 0;
    return eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(floor).cwiseInverse().asDiagonal() *
           eigen.eigenvectors().transpose();
}

VecX times(const MatX& columns, const estimate::Gradient& f) {
    VecX out = VecX::Zero(columns.cols());
    for (const auto& [column, d] : f)
        if (column >= 0) out += d * columns.row(column).transpose();
    return out;
}

Exchange exchangeOf(const Influence& influence, int one, int other, const MatX& cross) {
    constexpr double kFloor = 1e-6;  // a direction that nothing else controls may take any value
    Exchange x;
    x.other = other;
    const OwnerRows &a = influence.rows(one), &b = influence.rows(other);
    const VecX eA = a.residual(), eB = b.residual();
    int goneRank = 0, backRank = 0;
    x.goneInverse = flooredInverse(influence.Q(other), kFloor, 1e-4, INFINITY, goneRank);
    const MatX Qa = influence.Q(one) + cross * x.goneInverse * cross.transpose();
    x.backInverse = flooredInverse(Qa, kFloor, 0.0, 1e4, backRank);
    const VecX eBack = eA + cross * x.goneInverse * eB;
    const double gain = eB.dot(x.goneInverse * eB), cost = eBack.dot(x.backInverse * eBack);
    x.freedom = goneRank - backRank;
    x.loss = cost - gain + x.freedom;
    x.logProbability = logProbability(eBack, Qa, a.points);
    return x;
}

}  // namespace

double Exchange::variance(double before, const estimate::Gradient& f) const {
    const VecX g = times(gone, f), k = times(back, f);
    return std::max(0.0, before + g.dot(goneInverse * g) - k.dot(backInverse * k));
}

std::vector<Exchange> exchanges(const Influence& influence, const std::vector<Assessment>& assessments,
                                int one, double limit) {
    std::vector<Exchange> out;
    const Network& n = influence.network();
    for (int o = 0; o < influence.owners(); ++o) {
        if (o == one || !n.owners()[at(o)].active || influence.rows(o).e.empty() ||
            assessments[at(o)].result.object.empty())
            continue;
        const MatX cross = influence.C(one, o);
        if (!(cross.cwiseAbs().maxCoeff() > kTouching)) continue;
        Exchange x = exchangeOf(influence, one, o, cross);
        if (!(x.loss < limit)) continue;
        x.gone = influence.shift(o);
        x.back = influence.shift(one) + x.gone * x.goneInverse * cross.transpose();
        const VecX eB = influence.rows(o).residual();
        x.move = -x.gone * (x.goneInverse * eB) +
                 x.back * (x.backInverse * (influence.rows(one).residual() + cross * x.goneInverse * eB));
        out.push_back(std::move(x));
    }
    std::sort(out.begin(), out.end(), [](const Exchange& p, const Exchange& q) { return p.loss < q.loss; });
    return out;
}

}  // namespace trammel::adjust
