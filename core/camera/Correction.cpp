// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/camera/Correction.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <limits>

namespace trammel::camera {

namespace {

constexpr double kLeastSlope = 0.05;  // of the map's determinant: flatter is on the way to folding over
constexpr double kMostStretch = 1.5;  // of a side; shrunk by as much at most
constexpr int kLargestSide = 32000;   // px: positions are 16.16 fixed point while pixels are moved
constexpr int kSamples = 48;          // along each side

bool finite(const Constants& k) {
    for (const double v : {k.c, k.pp.x(), k.pp.y(), k.k1, k.k2, k.k3, k.p1, k.p2})
        if (!std::isfinite(v)) return false;
    return k.c > 0.0;
}

}  // namespace

Result<Correction> Correction::of(const Constants& constants, const Vec2& offset, int width, int height) {
    if (!finite(constants) || !offset.allFinite())
        return Error{ErrorCode::BadValue, "the lens constants are not usable numbers", "corrected view",
                     "calibrate the lens again"};
    if (std::min(width, height) < 1 || std::max(width, height) > kLargestSide)
        return Error{ErrorCode::BadValue, "the photograph has no side or one above 32000 px",
                     "corrected view", "show the photograph as it is"};
    Correction made(constants, offset);
    if (!made.unfolded(width, height) || !made.findFrame(width, height))
        return Error{ErrorCode::Refused, "the distortion constants fold or tear the picture",
                     "corrected view", "calibrate the lens again, or take its constants back"};
    while (made.step_ > 8 && made.gridError(made.step_) > kGridError) made.step_ /= 2;
    return made;
}

Vec2 Correction::toOriginal(const Vec2& corrected) const {
    const Vec2 xy = (corrected + offset_ - constants_.pp) / constants_.c;
    return constants_.c * distort(constants_, xy) + constants_.pp - offset_;
}

std::optional<Vec2> Correction::toCorrected(const Vec2& original) const {
    const auto xy = undistort(constants_, original + offset_);
    if (!xy) return std::nullopt;
    return constants_.c * *xy + constants_.pp - offset_;
}

bool Correction::operator==(const Correction& other) const {
    const Constants &a = constants_, &b = other.constants_;
    return a.c == b.c && a.pp == b.pp && a.k1 == b.k1 && a.k2 == b.k2 && a.k3 == b.k3 && a.p1 == b.p1 &&
           a.p2 == b.p2 && offset_ == other.offset_ && frame_.x == other.frame_.x &&
           frame_.y == other.frame_.y && frame_.width == other.frame_.width &&
           frame_.height == other.frame_.height;
}

bool Correction::unfolded(int width, int height) const {
    for (int j = 0; j <= kSamples; ++j)
        for (int i = 0; i <= kSamples; ++i) {
            const Vec2 px(i * (width - 1.0) / kSamples, j * (height - 1.0) / kSamples);
            const auto xy = undistort(constants_, px + offset_);
            if (!xy) return false;
            Mat2 slope;
            distort(constants_, *xy, &slope);
            if (!(slope.determinant() > kLeastSlope)) return false;
        }
    return true;
}

bool Correction::findFrame(int width, int height) {
    Vec2 low = Vec2::Constant(std::numeric_limits<double>::infinity()), high = -low;
    const auto reach = [&](double x, double y) {
        if (const auto p = toCorrected(Vec2(x, y))) {
            low = low.cwiseMin(*p);
            high = high.cwiseMax(*p);
        }
    };
    for (int i = 0; i <= kSamples; ++i) {
        const double u = i * (width - 1.0) / kSamples, v = i * (height - 1.0) / kSamples;
        reach(u, 0), reach(u, height - 1.0), reach(0, v), reach(width - 1.0, v);
    }
    if (!low.allFinite() || !high.allFinite()) return false;
    const Vec2 size = high - low, whole(width, height);
    if ((size.array() > kMostStretch * whole.array() + 1).any()) return false;
    if ((size.array() < (2.0 - kMostStretch) * whole.array() - 1).any()) return false;
    frame_ = {static_cast<int>(std::floor(low.x())), static_cast<int>(std::floor(low.y())), 0, 0};
    frame_.width = std::min(kLargestSide, static_cast<int>(std::ceil(high.x())) - frame_.x + 1);
    frame_.height = std::min(kLargestSide, static_cast<int>(std::ceil(high.y())) - frame_.y + 1);
    // The corners of the frame may lie beyond the picture's own: they must not show it a second time.
    for (const double x : {low.x(), high.x()})
        for (const double y : {low.y(), high.y()}) {
            Mat2 slope;
            distort(constants_, (Vec2(x, y) + offset_ - constants_.pp) / constants_.c, &slope);
            if (!(slope.determinant() > kLeastSlope)) return false;
        }
    return true;
}

double Correction::gridError(int step) const {
    const int columns = frame_.width / step + 1, rows = frame_.height / step + 1;
    double worst = 0.0;
    for (int j = 0; j < rows; ++j)
        for (int i = 0; i < columns; ++i) {
            const bool side = i == 0 || j == 0 || i + 1 == columns || j + 1 == rows;
            if (!side && (i + 2 * j) % 4 != 0) continue;
            const Vec2 at(frame_.x + i * step, frame_.y + j * step);
            const Vec2 right(step, 0), down(0, step);
            const Vec2 middle = 0.25 * (toOriginal(at) + toOriginal(at + right) + toOriginal(at + down) +
                                        toOriginal(at + right + down));
            worst = std::max(worst, (middle - toOriginal(at + 0.5 * (right + down))).norm());
        }
    return worst;
}

bool Correction::worthwhile(const Constants& constants, const Vec2& offset, int width, int height) {
    if (!finite(constants) || !offset.allFinite()) return false;
    const Correction c(constants, offset);
    for (int i = 0; i <= 8; ++i)
        for (int j = 0; j <= 8; ++j) {
            const Vec2 px(i * (width - 1.0) / 8, j * (height - 1.0) / 8);
            if ((c.toOriginal(px) - px).norm() > 0.5) return true;
        }
    return false;
}

}  // namespace trammel::camera
