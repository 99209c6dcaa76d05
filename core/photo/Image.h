// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <vector>

namespace trammel::photo {

/// Decoded upright pixels, rows top to bottom, channels interleaved (3 = RGB, 1 = grey), 8 bit, sRGB curve.
struct Image {
    int width = 0, height = 0, channels = 0;
    std::vector<std::uint8_t> data;  ///< size width · height · channels
    /// Codes between the levels that the mean brightness of a JPEG's block of 8 × 8 can take; 1 else.
    float levelStep = 1.0f;
    bool lossy = false;  ///< from a JPEG
    const std::uint8_t* at(int x, int y) const {
        return data.data() + (static_cast<std::size_t>(y) * width + x) * channels;
    }
    bool empty() const { return data.empty(); }
};

/// One channel of light in linear units 0..1 (sRGB curve undone), with the codes that it was made from: noise
/// and JPEG are even in the codes, not in light.
struct LinearImage {
    int width = 0, height = 0;
    std::vector<float> data;
    Image codes{};  ///< may be empty
    float at(int x, int y) const { return data[static_cast<std::size_t>(y) * width + x]; }
};

/// Luminance (Rec. 709 weights, IEC 61966-2-1 curve undone). Keeps the codes: move the image in.
LinearImage linearLuminance(Image image);

/// IEC 61966-2-1: code value 0..255 to light 0..1.
float lightOfCode(std::uint8_t code);

}  // namespace trammel::photo
