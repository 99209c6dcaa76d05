// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/LensRecord.h"

#include <cmath>
#include <utility>

namespace trammel::calibrate {
namespace {

std::array<double, 8> valuesOf(const camera::Constants& k) {
    return {k.c, k.pp.x(), k.pp.y(), k.k1, k.k2, k.k3, k.p1, k.p2};
}

/// σ of an independent constant such that no combination is promised better than the calibration has it.
double widened(const LensRecord& record, int i) {
    const double own = record.sigma(static_cast<LensConstant>(i));
    double sum = 0.0;
    for (int j = 0; j < 8; ++j) {
        const double other = record.sigma(static_cast<LensConstant>(j));
        if (other > 0.0) sum += std::abs(record.covariance(i, j)) / (own * other);
    }
    return own * std::sqrt(sum);
}

}  // namespace

double LensRecord::sigma(LensConstant which) const { return std::sqrt(covariance(which, which)); }

survey::CameraGroup withConstants(survey::CameraGroup group, const LensRecord& record) {
    survey::Constant* const all[8] = {&group.principalDistance,
                                      &group.principalX,
                                      &group.principalY,
                                      &group.k1,
                                      &group.k2,
                                      &group.k3,
                                      &group.p1,
                                      &group.p2};
    const auto values = valuesOf(record.constants);
    for (int i = 0; i < 8; ++i) {
        const auto n = static_cast<std::size_t>(i);
        const bool told = record.covariance(i, i) > 0.0;
        *all[n] = {values[n], told ? widened(record, i) : 0.0,
                   told ? survey::ConstantMode::Prior : survey::ConstantMode::Fixed};
    }
    if (!record.body.empty()) group.body = record.body;
    if (!record.lens.empty()) group.lens = record.lens;
    if (record.focal_mm > 0.0) group.focalLength_mm = record.focal_mm;
    return group;
}

LensRecord turned(const LensRecord& record, int orientation) {
    if (orientation != 3 && orientation != 6 && orientation != 8) return record;
    LensRecord out = record;
    // Orientation 6: stored x runs down the upright picture, stored y to its left.
    Mat2 turn;
    if (orientation == 3) turn << -1, 0, 0, -1;
    if (orientation == 6) turn << 0, -1, 1, 0;
    if (orientation == 8) turn << 0, 1, -1, 0;
    if (orientation != 3) std::swap(out.width, out.height);
    const auto centre = [](const LensRecord& r) { return Vec2(0.5 * (r.width - 1), 0.5 * (r.height - 1)); };
    out.constants.pp = centre(out) + turn * (record.constants.pp - centre(record));
    // Brown's tangential part is r² q + 2 x (x·q) with the vector q = (p2, p1).
    const Vec2 q = turn * Vec2(record.constants.p2, record.constants.p1);
    out.constants.p2 = q.x();
    out.constants.p1 = q.y();
    Mat8 whole = Mat8::Identity();
    whole.block<2, 2>(kPointX, kPointX) = turn;
    Mat2 exchanged;  // the same turn in the order p1, p2
    exchanged << turn(1, 1), turn(1, 0), turn(0, 1), turn(0, 0);
    whole.block<2, 2>(kP1, kP1) = exchanged;
    out.covariance = whole * record.covariance * whole.transpose();
    return out;
}

}  // namespace trammel::calibrate
