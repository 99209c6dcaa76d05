// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <cstdio>

/// libjpeg behind a trap. The library reports failure by a callback that must not return, and the only way
/// out of C code is longjmp, which skips destructors. So these functions hold nothing that has one, and all
/// of libjpeg stays in JpegTrap.cpp.
namespace trammel::photo {

enum class JpegOutcome {
    Good,
    NoJpeg,       ///< does not start as one, or the header makes no sense
    Truncated,    ///< the data end before the picture does
    Damaged,      ///< the data contradict themselves
    Unsupported,  ///< a kind that this library does not decode
};

struct JpegHeader {
    int width = 0, height = 0;
    int components = 0;      ///< 1 grey, 3 colour, 4 CMYK or YCCK
    float levelStep = 1.0f;  ///< see Image
};

/// Reads up to the first scan. `f` stands at its beginning.
JpegOutcome readJpegHeader(std::FILE* f, JpegHeader& header);

/// Size of the picture when shrunk by 1, 2, 4 or 8: rounded up, as libjpeg does.
int shrunk(int size, int shrink);

/// Decodes into `pixels`, which has room for shrunk(width) · shrunk(height) · channels (1 or 3) bytes.
/// `f` stands at its beginning. Anything but a complete, consistent picture is refused.
JpegOutcome readJpegPixels(std::FILE* f, int shrink, const JpegHeader& header, std::uint8_t* pixels);

}  // namespace trammel::photo
