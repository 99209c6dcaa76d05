// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/math/Statistics.h"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <limits>

namespace trammel::stats {
namespace {

namespace bm = boost::math;

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

bool isProbability(double p) { return p > 0.0 && p < 1.0; }

}  // namespace

double normalQuantile(double p) { return isProbability(p) ? bm::quantile(bm::normal(), p) : kNaN; }
double normalUpperTail(double z) { return bm::cdf(bm::complement(bm::normal(), z)); }
double chiSquareQuantile(double p, double dof) {
    return isProbability(p) && dof > 0 ? bm::quantile(bm::chi_squared(dof), p) : kNaN;
}
double chiSquareUpperTail(double value, double dof) {
    if (!(dof > 0) || !(value >= 0)) return kNaN;
    return bm::cdf(bm::complement(bm::chi_squared(dof), value));
}
double studentQuantile(double p, double dof) {
    return isProbability(p) && dof > 0 ? bm::quantile(bm::students_t(dof), p) : kNaN;
}
double fisherQuantile(double p, double dof1, double dof2) {
    return isProbability(p) && dof1 > 0 && dof2 > 0 ? bm::quantile(bm::fisher_f(dof1, dof2), p) : kNaN;
}

}  // namespace trammel::stats
