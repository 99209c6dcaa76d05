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
    bool deep = false;      ///< 16 bits a sample
    bool complete = false;  ///< the chain of chunks reaches its end chunk
};

/// False when the file does not begin as a PNG. `f` stands at its beginning.
bool readPngHeader(std::FILE* f, PngHeader& header);

/// Decodes into room for width · height · channels samples: uint16_t ones of a deep picture, uint8_t ones of
/// another; false when the data are damaged. Palettes are looked up and transparency is ignored.
/// `f` stands at its beginning.
/// Uses libpng's full interface: its simplified one garbles interlaced 16-bit pictures (seen with 1.6.39).
bool readPngPixels(std::FILE* f, const PngHeader& header, void* pixels);

/// Shrinks by averaging blocks of shrink × shrink in light, not in code values; sizes round up.
Image shrinkByAveraging(const Image& image, int shrink);

}  // namespace trammel::photo
