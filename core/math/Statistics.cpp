// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/math/Statistics.h"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>

namespace trammel::stats {
namespace {

namespace bm = boost::math;
namespace bp = boost::math::policies;

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

/// Boost throws by default where an argument is out of range; a degenerate survey must not.
using Quiet = bp::policy<bp::domain_error<bp::ignore_error>, bp::pole_error<bp::ignore_error>,
                         bp::overflow_error<bp::ignore_error>, bp::evaluation_error<bp::ignore_error>,
                         bp::rounding_error<bp::ignore_error>>;
using Normal = bm::normal_distribution<double, Quiet>;
using ChiSquare = bm::chi_squared_distribution<double, Quiet>;
using Student = bm::students_t_distribution<double, Quiet>;
using Fisher = bm::fisher_f_distribution<double, Quiet>;

bool isProbability(double p) { return p > 0.0 && p < 1.0; }
bool isDof(double dof) { return dof > 0.0 && std::isfinite(dof); }

}  // namespace

double normalQuantile(double p) { return isProbability(p) ? bm::quantile(Normal(), p) : kNaN; }
double normalUpperTail(double z) { return std::isnan(z) ? kNaN : bm::cdf(bm::complement(Normal(), z)); }
double chiSquareQuantile(double p, double dof) {
    return isProbability(p) && isDof(dof) ? bm::quantile(ChiSquare(dof), p) : kNaN;
}
double chiSquareUpperTail(double value, double dof) {
    if (!isDof(dof) || !(value >= 0)) return kNaN;
    return std::isinf(value) ? 0.0 : bm::cdf(bm::complement(ChiSquare(dof), value));
}
double logChiSquareUpperTail(double value, double dof) {
    if (!(dof > 0) || !(value >= 0)) return kNaN;
    if (dof == 2) return -value / 2;
    if (dof == 1 && value < 500.0) return std::log(std::erfc(std::sqrt(value / 2)));
    if (value < 500.0) return std::log(chiSquareUpperTail(value, dof));
    const double x = value / 2, a = dof / 2;
    return -x + (a - 1) * std::log(x) - std::lgamma(a) + std::log1p((a - 1) / x);
}
double studentQuantile(double p, double dof) {
    if (std::isinf(dof) && dof > 0) return normalQuantile(p);
    return isProbability(p) && isDof(dof) ? bm::quantile(Student(dof), p) : kNaN;
}
double fisherQuantile(double p, double dof1, double dof2) {
    return isProbability(p) && isDof(dof1) && isDof(dof2) ? bm::quantile(Fisher(dof1, dof2), p) : kNaN;
}

}  // namespace trammel::stats
