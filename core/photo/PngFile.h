// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <cstdio>

#include "core/photo/Image.h"

/// PNG (ISO/IEC 15948): sizes from the header, the chain of chunks followed to its end, pixels by libpng.
namespace trammel::photo {

struct PngHeader {
    int width = 0, height = 0;
    int bitsPerPixel = 0;   ///< of the stored pixels, all channels
    int channels = 0;       ///< 1 grey, 3 colour, once decoded
    bool complete = false;  ///< the chain of chunks reaches its end chunk
};

/// False when the file does not begin as a PNG. `f` stands at its beginning.
bool readPngHeader(std::FILE* f, PngHeader& header);

/// Decodes 8-bit pixels into room for width · height · channels bytes; false when the data are damaged.
/// 16-bit samples are rounded to 8, palettes looked up, transparency ignored, code values taken as sRGB
/// (cameras and screens mean that whether or not they say so). `f` stands at its beginning.
/// Uses libpng's full interface: its simplified one garbles interlaced 16-bit pictures (seen with 1.6.39).
bool readPngPixels(std::FILE* f, const PngHeader& header, std::uint8_t* pixels);

/// Shrinks by averaging blocks of shrink × shrink in light, not in code values; sizes round up.
Image shrinkByAveraging(const Image& image, int shrink);

}  // namespace trammel::photo
