// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/Optics.h"

#include <cmath>

namespace trammel::plan {
namespace {

constexpr double kWavelength_mm = 550e-6;  // green light, where eye and sensors see best

}  // namespace

double magnification(double f, double u) {
    return u > f ? f / (u - f) : std::numeric_limits<double>::quiet_NaN();
}

double distanceFor(double f, double m) { return f * (1.0 + 1.0 / m); }

double imageDistance(double f, double m) { return f * (1.0 + m); }

double effectiveFNumber(double N, double m, double pupil) { return N * (1.0 + m / pupil); }

double hyperfocal(double f, double N, double c) { return f * f / (N * c); }

DepthOfField depthOfField(double f, double N, double u, double c) {
    const double H = hyperfocal(f, N, c);
    DepthOfField d;
    d.near_mm = u * H / (H + (u - f));
    if (u - f < H) d.far_mm = u * H / (H - (u - f));
    return d;
}

double blurCircle(double f, double N, double u, double towards) {
    return magnification(f, u) * (f / N) * std::abs(towards) / (u - towards);
}

double airyDisc(double effective) { return 2.44 * kWavelength_mm * effective; }

double blurSigma(double circle, double effective, double pitch) {
    return std::sqrt(circle * circle / 16.0 + std::pow(0.42 * kWavelength_mm * effective, 2) +
                     pitch * pitch / 12.0);
}

double focusBetween(double near, double far) { return 2.0 * near * far / (near + far); }

std::vector<double> stopsWithin(double widest, double narrowest) {
    std::vector<double> stops;
    for (const double n : {1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 22.0, 32.0, 45.0})
        if (n >= widest - 0.05 && n <= narrowest + 0.05) stops.push_back(n);
    if (stops.empty()) stops = {widest};
    return stops;
}

}  // namespace trammel::plan
