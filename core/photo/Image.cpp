// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/Image.h"

#include <array>
#include <cmath>
#include <utility>

namespace trammel::photo {
namespace {

const std::array<float, 256>& lightTable() {
    static const std::array<float, 256> table = [] {
        std::array<float, 256> t{};
        for (int i = 0; i < 256; ++i) {
            const double v = i / 255.0;
            t[static_cast<std::size_t>(i)] =
                static_cast<float>(v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4));
        }
        return t;
    }();
    return table;
}

}  // namespace

float lightOfCode(std::uint8_t code) { return lightTable()[code]; }

LinearImage linearLuminance(Image image) {
    LinearImage out{image.width, image.height, {}};
    const std::size_t n = static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height);
    out.data.resize(n);
    const std::array<float, 256>& light = lightTable();
    const std::uint8_t* p = image.data.data();
    if (image.channels == 1) {
        for (std::size_t i = 0; i < n; ++i) out.data[i] = light[p[i]];
        out.codes = std::move(image);
        return out;
    }
    // Rec. ITU-R BT.709 luminance weights; three tables save three multiplications a pixel.
    static const auto weighted = [&light](double w) {
        std::array<float, 256> t{};
        for (std::size_t i = 0; i < 256; ++i) t[i] = static_cast<float>(w * light[i]);
        return t;
    };
    static const std::array<float, 256> red = weighted(0.2126), green = weighted(0.7152),
                                        blue = weighted(0.0722);
    for (std::size_t i = 0; i < n; ++i, p += 3) out.data[i] = red[p[0]] + green[p[1]] + blue[p[2]];
    out.codes = std::move(image);
    return out;
}

}  // namespace trammel::photo
