// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <vector>

namespace trammel::photo {

/// Decoded upright pixels, rows top to bottom, channels interleaved (3 = RGB, 1 = grey), codes of the sRGB
/// curve (IEC 61966-2-1). `data` is the picture for the eye. Where the file knew more than 8 bits of each
/// code, `deep` holds all of them, and whatever measures reads those.
struct Image {
    int width = 0, height = 0, channels = 0;
    std::vector<std::uint8_t> data;  ///< size width · height · channels
    /// Codes between the levels that the mean brightness of a JPEG's block of 8 × 8 can take; 1 else.
    float levelStep = 1.0f;
    bool lossy = false;  ///< from a JPEG or HEIC
    std::vector<std::uint16_t>
        deep{};  ///< empty, or the same samples as codes 0..65535 (257 for one of 8 bit)
    /// Step between the codes that the file could tell apart, in codes of 8 bit: 1, 1/257 for a file of 16
    /// bit.
    float codeStep = 1.0f;
    const std::uint8_t* at(int x, int y) const {
        return data.data() + (static_cast<std::size_t>(y) * width + x) * channels;
    }
    const std::uint16_t* deepAt(int x, int y) const {
        return deep.data() + (static_cast<std::size_t>(y) * width + x) * channels;
    }
    bool isDeep() const { return !deep.empty(); }
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

/// Fills `data` from `deep`, rounded.
void roundForTheEye(Image& image);

}  // namespace trammel::photo
