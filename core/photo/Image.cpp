// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/Image.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace trammel::photo {
namespace {

/// Light of every code 0..Count - 1.
template <std::size_t Count>
const std::vector<float>& lightTable() {
    static const std::vector<float> table = [] {
        std::vector<float> t(Count);
        for (std::size_t i = 0; i < Count; ++i) {
            const double v = static_cast<double>(i) / (Count - 1);
            t[i] = static_cast<float>(v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4));
        }
        return t;
    }();
    return table;
}

/// Rec. ITU-R BT.709 luminance weights; three tables save three multiplications a pixel.
template <std::size_t Count, class Sample>
void luminance(const Sample* p, int channels, std::vector<float>& out) {
    const std::vector<float>& light = lightTable<Count>();
    if (channels == 1) {
        for (std::size_t i = 0; i < out.size(); ++i) out[i] = light[p[i]];
        return;
    }
    static const auto weighted = [&light](double w) {
        std::vector<float> t(Count);
        for (std::size_t i = 0; i < Count; ++i) t[i] = static_cast<float>(w * light[i]);
        return t;
    };
    static const std::vector<float> red = weighted(0.2126), green = weighted(0.7152), blue = weighted(0.0722);
    const float *r = red.data(), *g = green.data(), *b = blue.data();
    for (std::size_t i = 0; i < out.size(); ++i, p += 3) out[i] = r[p[0]] + g[p[1]] + b[p[2]];
}

}  // namespace

float lightOfCode(std::uint8_t code) { return lightTable<256>()[code]; }

LinearImage linearLuminance(Image image) {
    LinearImage out{image.width, image.height, {}};
    out.data.resize(static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height));
    if (image.isDeep())
        luminance<65536>(image.deep.data(), image.channels, out.data);
    else
        luminance<256>(image.data.data(), image.channels, out.data);
    out.codes = std::move(image);
    return out;
}

void roundForTheEye(Image& image) {
    image.data.resize(image.deep.size());
    // (c · 255 + 32895) >> 16 is c / 257 rounded, for every c of 16 bit
    std::transform(image.deep.begin(), image.deep.end(), image.data.begin(), [](std::uint16_t c) {
        return static_cast<std::uint8_t>((std::uint32_t{c} * 255u + 32895u) >> 16);
    });
}

}  // namespace trammel::photo
