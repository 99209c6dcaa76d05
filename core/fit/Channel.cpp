// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Channel.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace trammel::fit {
namespace {

// How many times better a colour's contrast to noise must be: see DEVELOPERS.md.
constexpr double kBetter = 1.6, kBetterInJpeg = 3.0;
constexpr double kLeastNoise = 0.3;  // steps of the file's codes: what rounding alone amounts to

/// Codes 0..255 of a colour pixel, with their fractions where the file knew them.
Vec3 rgbAt(const photo::Image& codes, int x, int y) {
    if (!codes.isDeep()) {
        const std::uint8_t* c = codes.at(x, y);
        return {double(c[0]), double(c[1]), double(c[2])};
    }
    const std::uint16_t* c = codes.deepAt(x, y);
    return {c[0] / 257.0, c[1] / 257.0, c[2] / 257.0};
}

template <class Sample>
double codeOf(const Sample* samples, const photo::Image& codes, std::size_t index, Channel channel,
              double full) {
    if (codes.channels == 1) return samples[index] / full;
    const Sample* c = samples + 3 * index;
    if (channel == Channel::Luma) return (0.299 * c[0] + 0.587 * c[1] + 0.114 * c[2]) / full;
    return c[channel == Channel::Red ? 0 : channel == Channel::Green ? 1 : 2] / full;
}

/// Codes of one surface beside a guide.
struct Side {
    Vec3 mean = Vec3::Zero();
    std::array<double, 4> variance{};  ///< luma, red, green, blue
    int n = 0;
};

Side sideOf(const photo::LinearImage& image, const Guide& guide, double sign, double blur) {
    const int count = static_cast<int>(std::clamp(guide.length() / 2.0, 12.0, 100.0));
    const double most = sign < 0 ? 0.8 / std::max(guide.curvature(0.0), 1e-9) : 1e9;
    Side out;
    Vec3 sum = Vec3::Zero();
    std::array<double, 4> sums{}, squares{};
    for (int i = 0; i < count; ++i)
        for (const double d : {1.5 * blur + 1.0, 1.5 * blur + 2.5}) {
            const Vec2 p = guide.point(guide.length() * (i + 0.5) / count, sign * std::min(d, most));
            const int x = static_cast<int>(std::lround(p.x())), y = static_cast<int>(std::lround(p.y()));
            if (!(x >= 0 && y >= 0 && x < image.width && y < image.height)) continue;
            const Vec3 rgb = rgbAt(image.codes, x, y);
            const double values[4] = {Tone::lumaOf(rgb), rgb.x(), rgb.y(), rgb.z()};
            for (std::size_t k = 0; k < 4; ++k) {
                sums[k] += values[k];
                squares[k] += values[k] * values[k];
            }
            sum += rgb;
            ++out.n;
        }
    if (out.n == 0) return out;
    out.mean = sum / out.n;
    for (std::size_t k = 0; k < 4; ++k)
        out.variance[k] = std::max(0.0, squares[k] / out.n - std::pow(sums[k] / out.n, 2));
    return out;
}

Vec3 lightOf(const Vec3& codes) {
    Vec3 out;
    for (int k = 0; k < 3; ++k) out(k) = Tone().light(codes(k) / 255.0);
    return out;
}

}  // namespace

bool holdsCodes(const photo::LinearImage& image) {
    return !image.codes.empty() && image.codes.width == image.width && image.codes.height == image.height;
}

double codeAt(const photo::LinearImage& image, std::size_t index, Channel channel) {
    if (!holdsCodes(image)) return Tone().at(image.data[index]).code;
    const photo::Image& codes = image.codes;
    return codes.isDeep() ? codeOf(codes.deep.data(), codes, index, channel, 65535.0)
                          : codeOf(codes.data.data(), codes, index, channel, 255.0);
}

ChannelChoice channelFor(const photo::LinearImage& image, const Guide& guide, double blur_px) {
    if (!holdsCodes(image) || image.codes.channels != 3) return {};
    const Side a = sideOf(image, guide, -1.0, blur_px), b = sideOf(image, guide, 1.0, blur_px);
    if (a.n < 8 || b.n < 8) return {};
    const double least = kLeastNoise * image.codes.codeStep;
    const auto clear = [&](std::size_t k, double step) {
        return std::abs(step) / std::sqrt(0.5 * (a.variance[k] + b.variance[k]) + least * least);
    };
    const Vec3 step = b.mean - a.mean;
    const Channel names[3] = {Channel::Red, Channel::Green, Channel::Blue};
    const Vec3 first = lightOf(a.mean), second = lightOf(b.mean);
    const double luminance = Tone::luminanceOf(second - first);
    double best = 0.0;
    ChannelChoice colour;
    for (int k = 0; k < 3; ++k)
        if (const double c = clear(static_cast<std::size_t>(k) + 1, step(k)); c > best) {
            best = c;
            colour = {names[k], Tone(), step(k) * luminance < 0.0};
        }
    const Tone mixed(first, second);
    if (!mixed.tells()) return colour;
    const double better = image.codes.lossy ? kBetterInJpeg : kBetter;
    return best > better * clear(0, Tone::lumaOf(step)) ? colour : ChannelChoice{Channel::Luma, mixed};
}

}  // namespace trammel::fit
