// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <tiffio.h>

#include <cstdint>
#include <filesystem>
#include <functional>
#include <vector>

/// Small TIFF and raw (DNG) files made for tests through libtiff.
namespace trammel::test {

struct TiffKind {
    int width = 37, height = 29;
    int bits = 8, samples = 3;
    std::uint16_t photometric = PHOTOMETRIC_RGB, compression = COMPRESSION_NONE, planar = PLANARCONFIG_CONTIG;
    std::uint16_t format = SAMPLEFORMAT_UINT;
    bool tiled = false;
    int orientation = 1;
    std::vector<std::uint8_t> icc{};
};

using Sample = std::function<int(int x, int y, int c)>;

/// A block of a picture (whole rows, or a tile padded with zeros), samples `first` to `last`.
inline std::vector<std::uint8_t> tiffBlock(const TiffKind& k, int x0, int y0, int w, int h, int first,
                                           int last, const Sample& sample) {
    std::vector<std::uint8_t> out;
    for (int y = y0; y < y0 + h; ++y)
        for (int x = x0; x < x0 + w; ++x)
            for (int c = first; c < last; ++c) {
                const int v = x < k.width && y < k.height ? sample(x, y, c) : 0;
                out.push_back(static_cast<std::uint8_t>(v & 0xff));
                if (k.bits == 16) out.push_back(static_cast<std::uint8_t>(v >> 8));
                if (k.bits == 32) out.insert(out.end(), {0, 0, 0});
            }
    return out;
}

inline void makeTiff(const std::filesystem::path& file, const TiffKind& k, const Sample& sample) {
    TIFF* t = TIFFOpen(file.c_str(), "wl");
    TIFFSetField(t, TIFFTAG_IMAGEWIDTH, k.width);
    TIFFSetField(t, TIFFTAG_IMAGELENGTH, k.height);
    TIFFSetField(t, TIFFTAG_BITSPERSAMPLE, k.bits);
    TIFFSetField(t, TIFFTAG_SAMPLESPERPIXEL, k.samples);
    TIFFSetField(t, TIFFTAG_PHOTOMETRIC, k.photometric);
    TIFFSetField(t, TIFFTAG_COMPRESSION, k.compression);
    TIFFSetField(t, TIFFTAG_PLANARCONFIG, k.planar);
    TIFFSetField(t, TIFFTAG_SAMPLEFORMAT, k.format);
    TIFFSetField(t, TIFFTAG_ORIENTATION, k.orientation);
    if (!k.icc.empty())
        TIFFSetField(t, TIFFTAG_ICCPROFILE, static_cast<std::uint32_t>(k.icc.size()), k.icc.data());
    if (k.compression == COMPRESSION_JPEG) TIFFSetField(t, TIFFTAG_JPEGQUALITY, 95);
    if (k.photometric == PHOTOMETRIC_PALETTE) {
        std::vector<std::uint16_t> map(256);
        for (int i = 0; i < 256; ++i) map[static_cast<std::size_t>(i)] = static_cast<std::uint16_t>(i * 257);
        TIFFSetField(t, TIFFTAG_COLORMAP, map.data(), map.data(), map.data());
    }
    const int w = k.tiled ? 16 : k.width, h = k.tiled ? 16 : 8;
    if (k.tiled)
        TIFFSetField(t, TIFFTAG_TILEWIDTH, w), TIFFSetField(t, TIFFTAG_TILELENGTH, h);
    else
        TIFFSetField(t, TIFFTAG_ROWSPERSTRIP, h);
    const bool contiguous = k.planar == PLANARCONFIG_CONTIG;
    std::uint32_t index = 0;
    for (int plane = 0; plane < (contiguous ? 1 : k.samples); ++plane)
        for (int y = 0; y < k.height; y += h)
            for (int x = 0; x < k.width; x += w) {
                const int rows = k.tiled ? h : std::min(h, k.height - y);
                auto block = tiffBlock(k, x, y, w, rows, contiguous ? 0 : plane,
                                       contiguous ? k.samples : plane + 1, sample);
                const auto size = static_cast<tmsize_t>(block.size());
                if (k.tiled)
                    TIFFWriteEncodedTile(t, index++, block.data(), size);
                else
                    TIFFWriteEncodedStrip(t, index++, block.data(), size);
            }
    TIFFClose(t);
}

/// A raw file of an invented camera: a mosaic of red, green, green, blue, 16 bits, black 0 and white 65535,
/// whose sensor sees the colours of sRGB (the matrix is that from CIE XYZ, IEC 61966-2-1).
inline void makeDng(const std::filesystem::path& file, int width, int height, const Sample& sample,
                    int orientation = 1) {
    TIFF* t = TIFFOpen(file.c_str(), "wl");
    TIFFSetField(t, TIFFTAG_SUBFILETYPE, 0);
    TIFFSetField(t, TIFFTAG_IMAGEWIDTH, width);
    TIFFSetField(t, TIFFTAG_IMAGELENGTH, height);
    TIFFSetField(t, TIFFTAG_BITSPERSAMPLE, 16);
    TIFFSetField(t, TIFFTAG_SAMPLESPERPIXEL, 1);
    TIFFSetField(t, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_CFA);
    TIFFSetField(t, TIFFTAG_COMPRESSION, COMPRESSION_NONE);
    TIFFSetField(t, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(t, TIFFTAG_ORIENTATION, orientation);
    TIFFSetField(t, TIFFTAG_MAKE, "Example Optics");
    TIFFSetField(t, TIFFTAG_MODEL, "Example One");
    TIFFSetField(t, TIFFTAG_UNIQUECAMERAMODEL, "Example Optics Example One");
    const std::uint8_t version[4] = {1, 4, 0, 0}, pattern[4] = {0, 1, 1, 2};
    const std::uint16_t dimensions[2] = {2, 2};
    TIFFSetField(t, TIFFTAG_DNGVERSION, version);
    TIFFSetField(t, TIFFTAG_CFAREPEATPATTERNDIM, dimensions);
    TIFFSetField(t, TIFFTAG_CFAPATTERN, 4, pattern);
    const std::uint32_t white = 65535;
    TIFFSetField(t, TIFFTAG_WHITELEVEL, 1, &white);
    const float matrix[9] = {3.2406f, -1.5372f, -0.4986f, -0.9689f, 1.8758f,
                             0.0415f, 0.0557f,  -0.2040f, 1.0570f};
    TIFFSetField(t, TIFFTAG_COLORMATRIX1, 9, matrix);
    const float neutral[3] = {1.0f, 1.0f, 1.0f};
    TIFFSetField(t, TIFFTAG_ASSHOTNEUTRAL, 3, neutral);
    TIFFSetField(t, TIFFTAG_ROWSPERSTRIP, height);
    TiffKind k;
    k.width = width, k.height = height, k.bits = 16, k.samples = 1;
    auto block = tiffBlock(k, 0, 0, width, height, 0, 1, sample);
    TIFFWriteEncodedStrip(t, 0, block.data(), static_cast<tmsize_t>(block.size()));
    TIFFClose(t);
}

}  // namespace trammel::test
