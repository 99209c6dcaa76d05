// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/TiffFile.h"

#include <fmt/core.h>
#include <tiffio.h>

#include <algorithm>
#include <cstring>
#include <memory>

namespace trammel::photo {
namespace {

constexpr std::uint16_t kColourFilterArray = 32803, kLinearRaw = 34892;  // TIFF/EP and DNG photometrics
constexpr std::uint32_t kDngVersion = 50706;
constexpr int kMostDirectories = 16;
constexpr double kLeastBlock = 64e6;  ///< bytes: a strip or tile of this size is never suspicious

using Tiff = std::unique_ptr<TIFF, void (*)(TIFF*)>;

int quiet(TIFF*, void*, const char*, const char*, va_list) { return 1; }

/// libtiff with its own complaints silenced and its memory bounded.
Tiff open(const std::filesystem::path& file) {
    TIFFOpenOptions* options = TIFFOpenOptionsAlloc();
    TIFFOpenOptionsSetErrorHandlerExtR(options, quiet, nullptr);
    TIFFOpenOptionsSetWarningHandlerExtR(options, quiet, nullptr);
    TIFFOpenOptionsSetMaxSingleMemAlloc(options, tmsize_t{1} << 31);
    Tiff tiff(TIFFOpenExt(file.c_str(), "rC", options), TIFFClose);
    TIFFOpenOptionsFree(options);
    return tiff;
}

/// The directory that is current.
bool isMosaic(TIFF* t) {
    std::uint16_t photometric = 0;
    if (TIFFGetField(t, TIFFTAG_PHOTOMETRIC, &photometric) &&
        (photometric == kColourFilterArray || photometric == kLinearRaw))
        return true;
    const void* bytes = nullptr;  // DNGVersion has a fixed count: the library hands out the place alone
    return TIFFGetField(t, kDngVersion, &bytes) == 1;
}

struct Layout {
    std::uint32_t width = 0, height = 0, tileWidth = 0, tileHeight = 0;
    std::uint16_t bits = 1, samples = 1, photometric = 0, planar = PLANARCONFIG_CONTIG, format = 1,
                  compression = COMPRESSION_NONE;
    bool tiled = false, hasPhotometric = false;
    /// Grey or RGB of 8 or 16 bits, whose samples are copied as they are.
    bool plain() const {
        return (bits == 8 || bits == 16) &&
               ((photometric == PHOTOMETRIC_RGB && samples >= 3) || photometric == PHOTOMETRIC_MINISBLACK ||
                photometric == PHOTOMETRIC_MINISWHITE);
    }
    int channels() const { return plain() && photometric != PHOTOMETRIC_RGB ? 1 : 3; }
};

Layout layoutOf(TIFF* t) {
    Layout l;
    TIFFGetField(t, TIFFTAG_IMAGEWIDTH, &l.width);
    TIFFGetField(t, TIFFTAG_IMAGELENGTH, &l.height);
    TIFFGetFieldDefaulted(t, TIFFTAG_BITSPERSAMPLE, &l.bits);
    TIFFGetFieldDefaulted(t, TIFFTAG_SAMPLESPERPIXEL, &l.samples);
    TIFFGetFieldDefaulted(t, TIFFTAG_PLANARCONFIG, &l.planar);
    TIFFGetFieldDefaulted(t, TIFFTAG_SAMPLEFORMAT, &l.format);
    TIFFGetFieldDefaulted(t, TIFFTAG_COMPRESSION, &l.compression);
    l.hasPhotometric = TIFFGetField(t, TIFFTAG_PHOTOMETRIC, &l.photometric) == 1;
    if (!l.hasPhotometric) l.photometric = l.samples >= 3 ? PHOTOMETRIC_RGB : PHOTOMETRIC_MINISBLACK;
    // The library turns the YCbCr of JPEG strips into RGB by itself, when asked.
    if (l.photometric == PHOTOMETRIC_YCBCR && l.compression == COMPRESSION_JPEG &&
        TIFFSetField(t, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB))
        l.photometric = PHOTOMETRIC_RGB;
    l.tiled = TIFFIsTiled(t) != 0;
    if (l.tiled) {
        TIFFGetField(t, TIFFTAG_TILEWIDTH, &l.tileWidth);
        TIFFGetField(t, TIFFTAG_TILELENGTH, &l.tileHeight);
    } else {
        TIFFGetFieldDefaulted(t, TIFFTAG_ROWSPERSTRIP, &l.tileHeight);
        l.tileWidth = l.width;
        l.tileHeight = std::min(l.tileHeight, l.height);
    }
    return l;
}

Result<void> checkKind(TIFF* t, const Layout& l, const std::filesystem::path& file) {
    if (l.photometric == PHOTOMETRIC_SEPARATED)
        return refused(file, "is a CMYK picture, made for printing", "export it as RGB");
    if (l.format != SAMPLEFORMAT_UINT && l.format != SAMPLEFORMAT_VOID)
        return refused(file, "is a TIFF of floating-point or signed samples", "export it with 8 or 16 bits");
    char why[1024] = "";
    if (!l.plain() && (l.bits != 8 || TIFFRGBAImageOK(t, why) == 0))
        return refused(file,
                       fmt::format("is a TIFF of a kind that is not read here ({} bits, {} samples a pixel)",
                                   l.bits, l.samples),
                       "export it as RGB or grey with 8 or 16 bits");
    return {};
}

/// Bytes that the smallest file with this picture holds: all of it where it is not compressed, and else what
/// the strongest of the lossless codings (LZW and deflate gain at most some 1400 times) would leave.
double leastBytes(const Layout& l) {
    const double whole = static_cast<double>(l.width) * l.height * l.samples * l.bits / 8.0;
    if (l.compression == COMPRESSION_NONE) return whole;
    return l.compression == COMPRESSION_LZMA || l.compression == COMPRESSION_ZSTD ? whole / 1e5
                                                                                  : whole / 1400.0;
}

/// Takes the samples of one strip or tile into the picture.
template <class Sample>
void place(const Sample* from, const Layout& l, std::uint32_t x0, std::uint32_t y0, int plane,
           std::uint32_t rows, std::vector<Sample>& to) {
    const int channels = l.channels();
    const int each = l.planar == PLANARCONFIG_CONTIG ? l.samples : 1;
    const int first = plane, last = l.planar == PLANARCONFIG_CONTIG ? channels : plane + 1;
    const Sample invert =
        l.photometric == PHOTOMETRIC_MINISWHITE ? static_cast<Sample>(~Sample{0}) : Sample{0};
    const std::uint32_t columns = std::min(l.tileWidth, l.width - x0);
    for (std::uint32_t y = 0; y < rows; ++y) {
        const Sample* in = from + static_cast<std::size_t>(y) * l.tileWidth * static_cast<std::size_t>(each);
        Sample* out = to.data() +
                      (static_cast<std::size_t>(y0 + y) * l.width + x0) * static_cast<std::size_t>(channels);
        for (std::uint32_t x = 0; x < columns; ++x, in += each, out += channels)
            for (int c = first; c < last; ++c)
                out[c] = static_cast<Sample>(in[l.planar == PLANARCONFIG_CONTIG ? c : 0] ^ invert);
    }
}

template <class Sample>
bool readBlocks(TIFF* t, const Layout& l, std::vector<Sample>& to) {
    const tmsize_t size = l.tiled ? TIFFTileSize(t) : TIFFStripSize(t);
    if (size <= 0) return false;
    std::vector<std::uint8_t> block(static_cast<std::size_t>(size));
    const int planes = l.planar == PLANARCONFIG_CONTIG ? 1 : l.channels();
    const std::size_t sampleBytes = sizeof(Sample) * (l.planar == PLANARCONFIG_CONTIG ? l.samples : 1u);
    for (int plane = 0; plane < planes; ++plane)
        for (std::uint32_t y = 0; y < l.height; y += l.tileHeight)
            for (std::uint32_t x = 0; x < l.width; x += l.tileWidth) {
                const auto index = l.tiled ? TIFFComputeTile(t, x, y, 0, static_cast<std::uint16_t>(plane))
                                           : TIFFComputeStrip(t, y, static_cast<std::uint16_t>(plane));
                const tmsize_t n = l.tiled ? TIFFReadEncodedTile(t, index, block.data(), size)
                                           : TIFFReadEncodedStrip(t, index, block.data(), size);
                const std::uint32_t rows = std::min(l.tileHeight, l.height - y);
                const std::uint32_t wantedRows = l.tiled ? l.tileHeight : rows;
                const double wanted =
                    static_cast<double>(wantedRows) * l.tileWidth * static_cast<double>(sampleBytes);
                if (n < 0 || static_cast<double>(n) < wanted) return false;
                place(reinterpret_cast<const Sample*>(block.data()), l, x, y, plane, rows, to);
            }
    return true;
}

/// Palettes and the like, which the library turns into 8-bit RGB itself.
bool readByLibrary(TIFF* t, const Layout& l, Image& image) {
    std::vector<std::uint32_t> raster(static_cast<std::size_t>(l.width) * l.height);
    // The stored order: orientation is applied later, once for all formats.
    TIFFSetField(t, TIFFTAG_ORIENTATION, ORIENTATION_TOPLEFT);
    if (!TIFFReadRGBAImageOriented(t, l.width, l.height, raster.data(), ORIENTATION_TOPLEFT, 1)) return false;
    std::uint8_t* out = image.data.data();
    for (const std::uint32_t p : raster) {
        *out++ = static_cast<std::uint8_t>(TIFFGetR(p));
        *out++ = static_cast<std::uint8_t>(TIFFGetG(p));
        *out++ = static_cast<std::uint8_t>(TIFFGetB(p));
    }
    return true;
}

}  // namespace

bool holdsMosaic(const std::filesystem::path& file) {
    const Tiff tiff = open(file);
    if (!tiff) return false;
    TIFF* t = tiff.get();
    std::vector<std::uint64_t> below;
    for (int i = 0; i < kMostDirectories; ++i) {
        if (isMosaic(t)) return true;
        std::uint16_t count = 0;
        std::uint64_t* offsets = nullptr;
        if (TIFFGetField(t, TIFFTAG_SUBIFD, &count, &offsets) && offsets)
            below.insert(below.end(), offsets, offsets + std::min<int>(count, kMostDirectories));
        if (!TIFFReadDirectory(t)) break;
    }
    if (below.size() > kMostDirectories) below.resize(kMostDirectories);
    return std::any_of(below.begin(), below.end(),
                       [t](std::uint64_t offset) { return TIFFSetSubDirectory(t, offset) && isMosaic(t); });
}

Result<Header> readTiffHeader(const std::filesystem::path& file) {
    const Tiff tiff = open(file);
    if (!tiff) return damaged(file);
    const Layout l = layoutOf(tiff.get());
    if (l.width > 0x7fffffff || l.height > 0x7fffffff) return damaged(file);
    Header h;
    h.width = static_cast<int>(l.width), h.height = static_cast<int>(l.height);
    h.channels = l.channels();
    h.leastBytes = leastBytes(l);
    if (const Result<void> good = checkClaim(h, file); !good) return good.error();
    if (const Result<void> good = checkKind(tiff.get(), l, file); !good) return good.error();
    const double whole = static_cast<double>(l.width) * l.height * l.samples * l.bits / 8.0;
    const double block = static_cast<double>(l.tileWidth) * l.tileHeight * l.samples * l.bits / 8.0;
    if (l.tileWidth < 1 || l.tileHeight < 1 || block > std::max(kLeastBlock, 4.0 * whole))
        return damaged(file);
    return h;
}

Result<Image> readTiffPixels(const std::filesystem::path& file) {
    const Tiff tiff = open(file);
    if (!tiff) return damaged(file);
    TIFF* t = tiff.get();
    const Layout l = layoutOf(t);
    Image image{static_cast<int>(l.width), static_cast<int>(l.height), l.channels(), {}};
    const std::size_t count =
        static_cast<std::size_t>(l.width) * l.height * static_cast<std::size_t>(l.channels());
    image.lossy = l.compression == COMPRESSION_JPEG || l.compression == COMPRESSION_OJPEG;
    bool good = false;
    if (!l.plain()) {
        image.data.resize(count);
        good = readByLibrary(t, l, image);
    } else if (l.bits == 16) {
        image.deep.resize(count);
        image.codeStep = 1.0f / 257.0f;
        good = readBlocks(t, l, image.deep);
        roundForTheEye(image);
    } else {
        image.data.resize(count);
        good = readBlocks(t, l, image.data);
    }
    if (!good) return damaged(file);
    return image;
}

}  // namespace trammel::photo
