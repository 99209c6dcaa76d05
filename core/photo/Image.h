// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <vector>

namespace trammel::photo {

/// Decoded upright pixels, rows top to bottom, channels interleaved (3 = RGB, 1 = grey), 8 bit, sRGB curve.
struct Image {
    int width = 0, height = 0, channels = 0;
    std::vector<std::uint8_t> data;  ///< size width · height · channels
    const std::uint8_t* at(int x, int y) const {
        return data.data() + (static_cast<std::size_t>(y) * width + x) * channels;
    }
    bool empty() const { return data.empty(); }
};

/// One channel of light in linear units 0..1 (sRGB curve undone).
struct LinearImage {
    int width = 0, height = 0;
    std::vector<float> data;
    float at(int x, int y) const { return data[static_cast<std::size_t>(y) * width + x]; }
};

/// Luminance (Rec. 709 weights, IEC 61966-2-1 curve undone).
LinearImage linearLuminance(const Image& image);

}  // namespace trammel::photo
