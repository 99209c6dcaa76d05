// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/camera/CorrectPicture.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <opencv2/core.hpp>
#include <opencv2/core/hal/intrin.hpp>
#include <opencv2/core/utility.hpp>
#include <vector>

namespace trammel::camera {

namespace {

// Positions are 16.16 fixed point; weights have 8 bits.
constexpr int kOne = 1 << 16, kHalfWeight = 1 << 7;

struct Place {
    int x = 0, y = 0;
};

/// A run of output pixels in one row within one cell, along which the source position is linear.
struct Run {
    Place first, step;
    int count = 0;
};

/// The map of a rectangle of output pixels on its coarse grid, in px of the shrunk source.
class Grid {
  public:
    Grid(const Correction& correction, int shrink, int firstX, int firstY, int width, int height)
        : step_(std::max(8, correction.gridStep() / shrink)), columns_((width - 1) / step_ + 2) {
        const int rows = (height - 1) / step_ + 2;
        nodes_.reserve(static_cast<std::size_t>(columns_) * rows);
        const auto& frame = correction.frame();
        for (int j = 0; j < rows; ++j)
            for (int i = 0; i < columns_; ++i) {
                const Vec2 px(firstX + i * step_, firstY + j * step_);
                const Vec2 whole = (px + Vec2(0.5, 0.5)) * shrink - Vec2(0.5, 0.5) + Vec2(frame.x, frame.y);
                const Vec2 from = (correction.toOriginal(whole) + Vec2(0.5, 0.5)) / shrink - Vec2(0.5, 0.5);
                nodes_.push_back({fixed(from.x()), fixed(from.y())});
            }
    }

    int step() const { return step_; }

    /// The run that begins at output column `cell` · step() in output row `y`.
    Run run(int cell, int y, int width) const {
        const Place* above = &nodes_[static_cast<std::size_t>(y / step_) * columns_ + cell];
        const Place* below = above + columns_;
        const std::int64_t down = y % step_;
        const auto between = [&](int a, int b) { return static_cast<int>(a + (b - a) * down / step_); };
        const Place left{between(above[0].x, below[0].x), between(above[0].y, below[0].y)};
        const Place right{between(above[1].x, below[1].x), between(above[1].y, below[1].y)};
        return {{left.x + kHalfWeight, left.y + kHalfWeight},  // rounds to the nearest weight
                {(right.x - left.x) / step_, (right.y - left.y) / step_},
                std::min(step_, width - cell * step_)};
    }

  private:
    static int fixed(double px) {  // far outside is as good as just outside
        return static_cast<int>(std::lround(std::clamp(px, -32000.0, 32700.0) * kOne));
    }

    int step_, columns_;
    std::vector<Place> nodes_;
};

/// Weights of the left and right pixel for every fraction, as the vector code wants them: times 2⁸, so that
/// the upper half of a 16-bit product is what counts. A weight of one is 65535/65536.
template <int C>
struct Weights {
    alignas(16) std::uint16_t of[256][8];
    Weights() {
        for (int f = 0; f < 256; ++f)
            for (int k = 0; k < 8; ++k)
                of[f][k] = static_cast<std::uint16_t>(k < C ? std::min(65535, (256 - f) * 256) : f * 256);
    }
};

/// All four pixels around each position lie in the source, with eight bytes to read from the left ones.
template <int C>
bool inside(const Run& run, const Pixels& s) {
    const int lastX = run.first.x + run.step.x * (run.count - 1);
    const int lastY = run.first.y + run.step.y * (run.count - 1);
    return std::min(run.first.x, lastX) >= 0 && std::min(run.first.y, lastY) >= 0 &&
           (std::max(run.first.x, lastX) >> 16) <= s.width - (C == 3 ? 3 : 2) &&
           (std::max(run.first.y, lastY) >> 16) <= s.height - 2;
}

template <int C>
void fillInside(const Run& run, const Pixels& s, std::uint8_t* out) {
    static const Weights<C> weights;
    int x = run.first.x, y = run.first.y;
    const cv::v_uint16x8 half = cv::v_setall_u16(128);
    for (int q = 0; q < run.count; ++q, x += run.step.x, y += run.step.y, out += C) {
        const std::uint8_t* from = s.data + (y >> 16) * s.rowBytes + static_cast<std::ptrdiff_t>(x >> 16) * C;
        const auto lower = static_cast<std::uint16_t>((y >> 8) & 255);
        const auto upper = static_cast<std::uint16_t>(256 - lower);
        const cv::v_uint16x8 column =
            cv::v_add_wrap(cv::v_mul_wrap(cv::v_load_expand(from), cv::v_setall_u16(upper)),
                           cv::v_mul_wrap(cv::v_load_expand(from + s.rowBytes), cv::v_setall_u16(lower)));
        const cv::v_uint16x8 shares = cv::v_mul_hi(column, cv::v_load(weights.of[(x >> 8) & 255]));
        const cv::v_uint16x8 sum =
            cv::v_shr<8>(cv::v_add_wrap(cv::v_add_wrap(shares, cv::v_rotate_right<C>(shares)), half));
        const std::uint32_t pixel = cv::v_reinterpret_as_u32(cv::v_pack(sum, sum)).get0();
        // Four bytes at once; the fourth is the next pixel's, which is still to come.
        std::memcpy(out, &pixel, C == 4 || q + 1 < run.count ? 4 : 3);
    }
}

/// The same, with every pixel asked for whether it is there.
void fillCarefully(const Run& run, const Pixels& s, std::uint8_t* out,
                   const std::array<std::uint8_t, 4>& empty) {
    int x = run.first.x, y = run.first.y;
    const auto pixel = [&](int px, int py) -> const std::uint8_t* {
        if (px < 0 || py < 0 || px >= s.width || py >= s.height) return empty.data();
        return s.data + py * s.rowBytes + static_cast<std::ptrdiff_t>(px) * s.channels;
    };
    for (int q = 0; q < run.count; ++q, x += run.step.x, y += run.step.y, out += s.channels) {
        const int px = x >> 16, py = y >> 16, fx = (x >> 8) & 255, fy = (y >> 8) & 255;
        const std::uint8_t *a = pixel(px, py), *b = pixel(px + 1, py), *c = pixel(px, py + 1),
                           *d = pixel(px + 1, py + 1);
        for (int k = 0; k < s.channels; ++k) {
            const int up = a[k] * (256 - fx) + b[k] * fx, low = c[k] * (256 - fx) + d[k] * fx;
            out[k] = static_cast<std::uint8_t>((up * (256 - fy) + low * fy + 32768) >> 16);
        }
    }
}

}  // namespace

PictureSize correctedSize(const Correction& correction, int shrink) {
    const auto& f = correction.frame();
    return {(f.width + shrink - 1) / shrink, (f.height + shrink - 1) / shrink};
}

void correctPicture(const Correction& correction, const Pixels& source, int shrink, const PixelsOut& out,
                    int firstX, int firstY, const std::array<std::uint8_t, 4>& empty) {
    const int channels = source.channels;
    if (!source.data || !out.data || source.width < 1 || source.height < 1 || out.width < 1 || out.height < 1)
        return;
    if (shrink < 1 || channels != out.channels || channels < 1 || channels > 4) return;
    const Grid grid(correction, shrink, firstX, firstY, out.width, out.height);
    const int step = grid.step();
    cv::parallel_for_(cv::Range(0, (out.height + step - 1) / step), [&](const cv::Range& bands) {
        const int end = std::min(out.height, bands.end * step);
        for (int y = bands.start * step; y < end; ++y)
            for (int cell = 0; cell * step < out.width; ++cell) {
                const Run run = grid.run(cell, y, out.width);
                std::uint8_t* to =
                    out.data + y * out.rowBytes + static_cast<std::ptrdiff_t>(cell) * step * channels;
                if (channels == 3 && inside<3>(run, source))
                    fillInside<3>(run, source, to);
                else if (channels == 4 && inside<4>(run, source))
                    fillInside<4>(run, source, to);
                else
                    fillCarefully(run, source, to, empty);
            }
    });
}

Vec2 sampledAt(const Correction& correction, int shrink, int x, int y) {
    const Grid grid(correction, shrink, 0, 0, x + 1, y + 1);
    const Run run = grid.run(x / grid.step(), y, x + 1);
    const int along = x % grid.step();
    const auto rounded = [&](int first, int each) { return ((first + each * along) >> 8) / 256.0; };
    return {rounded(run.first.x, run.step.x), rounded(run.first.y, run.step.y)};
}

}  // namespace trammel::camera
