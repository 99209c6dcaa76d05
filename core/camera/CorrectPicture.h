// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <array>
#include <cstddef>
#include <cstdint>

#include "core/camera/Correction.h"

namespace trammel::camera {

/// Rows of 8-bit pixels that belong to someone else, channels interleaved.
template <class Byte>
struct PixelRows {
    Byte* data = nullptr;
    int width = 0, height = 0, channels = 0;
    std::ptrdiff_t rowBytes = 0;
};
using Pixels = PixelRows<const std::uint8_t>;
using PixelsOut = PixelRows<std::uint8_t>;

/// Fills `out` with the corrected picture from `firstX`, `firstY` on: in px of the picture shrunk by `shrink`
/// (1, 2, 4, 8; px p of the shrunk picture is (p + ½)·shrink − ½ of the whole one), counted from the
/// top left of the corrected frame. `source` is the whole photograph, shrunk alike, with as many channels.
/// Bilinear between four pixels with weights of 1/256; what the photograph does not show gets `empty`.
/// Positions are interpolated in the correction's grid: with rounding off by less than 0.02 px. Runs on as
/// many threads as OpenCV has. 3 and 4 channels are quick, others take several times as long.
/// Does nothing when sizes or channels do not go together.
void correctPicture(const Correction& correction, const Pixels& source, int shrink, const PixelsOut& out,
                    int firstX = 0, int firstY = 0, const std::array<std::uint8_t, 4>& empty = {});

/// Size of the whole corrected picture at this shrink.
struct PictureSize {
    int width = 0, height = 0;
};
PictureSize correctedSize(const Correction& correction, int shrink);

/// Where `correctPicture` takes its pixels from, as it rounds: for the test of the bound above.
Vec2 sampledAt(const Correction& correction, int shrink, int x, int y);

}  // namespace trammel::camera
