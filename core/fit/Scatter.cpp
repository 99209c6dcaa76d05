// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Scatter.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "core/math/Statistics.h"

namespace trammel::fit {

double Scatter::varianceOfMean(double bins) const {
    const double n = std::max(bins, 1.0);
    return perBin * perBin / n * (1.0 + 2.0 * (1.0 - 1.0 / n) * correlation);
}

Scatter scatterOf(const std::vector<StripBin>& bins,
                  const std::vector<std::function<double(double)>>& shapes) {
    Scatter out;
    const Eigen::Index n = static_cast<Eigen::Index>(bins.size()),
                       p = static_cast<Eigen::Index>(shapes.size());
    if (n <= p) return out;
    MatX a(n, p);
    VecX b(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        b(i) = bins[i].offset;
        for (Eigen::Index k = 0; k < p; ++k) a(i, k) = shapes[k](bins[i].s);
    }
    VecX r = b - a * a.colPivHouseholderQr().solve(b);
    // One glint must not widen every point: residuals are held at four robust deviations.
    std::vector<double> size(n);
    for (Eigen::Index i = 0; i < n; ++i) size[i] = std::abs(r(i));
    std::nth_element(size.begin(), size.begin() + n / 2, size.end());
    const double most = std::max(4.0 * 1.4826 * size[n / 2], 1e-9);
    r = r.cwiseMax(-most).cwiseMin(most);
    out.dof = static_cast<double>(n - p);
    const double sum = r.squaredNorm();
    out.perBin = std::sqrt(sum / out.dof);
    if (n > 8 && sum > 0.0) {
        const double rho = r.head(n - 1).dot(r.tail(n - 1)) / sum + 1.0 / out.dof;
        if (rho > 1.0 / std::sqrt(static_cast<double>(n))) out.correlation = std::min(rho, 0.9);
    }
    return out;
}

double pointSigma(const Scatter& scatter, double bins, double formalSigma, double common,
                  std::size_t points) {
    constexpr double kFormalDof = 5.0;
    const double formal = formalSigma * formalSigma;
    const double blend =
        (kFormalDof * formal + scatter.dof * scatter.varianceOfMean(bins)) / (kFormalDof + scatter.dof);
    const double dof = kFormalDof + scatter.dof;
    const double widen = stats::studentQuantile(0.97725, dof) / 2.0;
    return std::hypot(widen * std::sqrt(std::max(0.8 * formal, blend)),
                      common * std::sqrt(static_cast<double>(points)));
}

}  // namespace trammel::fit
