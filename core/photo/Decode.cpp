// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/Decode.h"

#include <fmt/core.h>

#include <cmath>
#include <cstdio>
#include <memory>
#include <new>

#include "core/photo/FileFormat.h"
#include "core/photo/HeicFile.h"
#include "core/photo/JpegTrap.h"
#include "core/photo/Metadata.h"
#include "core/photo/Orientation.h"
#include "core/photo/PngFile.h"
#include "core/photo/RawFile.h"
#include "core/photo/TiffFile.h"
#include "core/photo/ToneCurve.h"

namespace trammel::photo {
namespace {

using File = std::unique_ptr<std::FILE, int (*)(std::FILE*)>;

/// A file recognised and its claim checked, before any pixel is decoded.
struct Opened {
    FileFormat format = FileFormat::Jpeg;
    Header header;
    JpegHeader jpeg;
    PngHeader png;
    Metadata metadata;  ///< empty when it cannot be read: that does not spoil the pixels
};

Error jpegFault(JpegOutcome outcome, const std::filesystem::path& file) {
    switch (outcome) {
        case JpegOutcome::Truncated:
            return truncated(file);
        case JpegOutcome::NoJpeg:
            return Error{ErrorCode::FileDamaged, "begins as a JPEG, but holds no picture", file.string(),
                         "copy it from the camera again"};
        case JpegOutcome::Unsupported:
            return Error{ErrorCode::FileDamaged, "is a kind of JPEG that cannot be read here", file.string(),
                         "export it as an ordinary 8-bit JPEG"};
        default:
            return damaged(file);
    }
}

/// A JPEG block of 8 × 8 takes more than half a bit.
Result<void> openJpeg(const std::filesystem::path& file, Opened& o) {
    const File f(std::fopen(file.c_str(), "rb"), &std::fclose);
    if (!f) return damaged(file);
    const JpegOutcome outcome = readJpegHeader(f.get(), o.jpeg);
    if (outcome != JpegOutcome::Good) return jpegFault(outcome, file);
    o.header = {o.jpeg.width, o.jpeg.height, o.jpeg.components == 1 ? 1 : 3, 0,
                static_cast<double>(o.jpeg.width) * o.jpeg.height / 1024.0};
    if (const Result<void> good = checkClaim(o.header, file); !good) return good.error();
    if (o.jpeg.components == 4)
        return refused(file, "is a CMYK picture, made for printing", "export it as RGB");
    if (o.jpeg.components != 1 && o.jpeg.components != 3) return jpegFault(JpegOutcome::Unsupported, file);
    return {};
}

/// Deflate gains at most a factor of 1032 (RFC 1951 coding of runs of 258).
Result<void> openPng(const std::filesystem::path& file, Opened& o) {
    const File f(std::fopen(file.c_str(), "rb"), &std::fclose);
    if (!f) return damaged(file);
    if (!readPngHeader(f.get(), o.png)) return damaged(file);
    o.header = {o.png.width, o.png.height, o.png.channels, 0,
                static_cast<double>(o.png.width) * o.png.height * o.png.bitsPerPixel / 8.0 / 1032.0};
    if (const Result<void> good = checkClaim(o.header, file); !good) return good.error();
    if (!o.png.complete) return truncated(file);
    return {};
}

Result<void> readHeader(const std::filesystem::path& file, Opened& o) {
    if (o.format == FileFormat::Jpeg) return openJpeg(file, o);
    if (o.format == FileFormat::Png) return openPng(file, o);
    const Result<Header> header = o.format == FileFormat::Tiff   ? readTiffHeader(file)
                                  : o.format == FileFormat::Heic ? readHeicHeader(file, o.metadata.exif)
                                                                 : readRawHeader(file);
    if (!header) return header.error();
    o.header = *header;
    return {};
}

Result<Opened> open(const std::filesystem::path& file) {
    const Result<FileFormat> format = formatOf(file);
    if (!format) return format.error();
    Opened o;
    o.format = *format;
    if (const Result<void> good = readHeader(file, o); !good) return good.error();
    if (Result<Metadata> metadata = readMetadata(file, o.format)) {
        o.metadata = std::move(*metadata);
        if (o.format == FileFormat::Heic)  // now that it is known which turn its EXIF names
            if (const Result<void> good = readHeader(file, o); !good) return good.error();
    }
    return o;
}

Result<Image> jpegPixels(const Opened& o, const std::filesystem::path& file, int shrink) {
    Image image{shrunk(o.header.width, shrink), shrunk(o.header.height, shrink), o.header.channels, {}};
    image.levelStep = o.jpeg.levelStep;
    image.lossy = true;
    image.data.resize(static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height) *
                      static_cast<std::size_t>(image.channels));
    const File f(std::fopen(file.c_str(), "rb"), &std::fclose);
    if (!f) return damaged(file);
    const JpegOutcome outcome = readJpegPixels(f.get(), shrink, o.jpeg, image.data.data());
    if (outcome != JpegOutcome::Good) return jpegFault(outcome, file);
    return image;
}

Result<Image> pngPixels(const Opened& o, const std::filesystem::path& file) {
    Image image{o.header.width, o.header.height, o.header.channels, {}};
    const std::size_t count = static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height) *
                              static_cast<std::size_t>(image.channels);
    void* room = nullptr;
    if (o.png.deep) {
        image.deep.resize(count);
        image.codeStep = 1.0f / 257.0f;
        room = image.deep.data();
    } else {
        image.data.resize(count);
        room = image.data.data();
    }
    const File f(std::fopen(file.c_str(), "rb"), &std::fclose);
    if (!f || !readPngPixels(f.get(), o.png, room)) return damaged(file);
    if (o.png.deep) roundForTheEye(image);
    return image;
}

/// As stored, already shrunk where the format can do so by itself; `left` is what remains to be shrunk.
Result<Image> pixels(const Opened& o, const std::filesystem::path& file, int shrink, int& left) {
    left = shrink;
    switch (o.format) {
        case FileFormat::Jpeg:
            left = 1;
            return jpegPixels(o, file, shrink);
        case FileFormat::Png:
            return pngPixels(o, file);
        case FileFormat::Tiff:
            return readTiffPixels(file);
        case FileFormat::Heic:
            return readHeicPixels(file);
        default:
            if (shrink > 1) left = shrink / 2;
            return readRawPixels(file, shrink > 1);
    }
}

Result<Image> decodeOpened(const Opened& o, const std::filesystem::path& file, int shrink, Depth depth) {
    int left = 1;
    Result<Image> image = pixels(o, file, shrink, left);
    if (!image) return image.error();
    toSrgbCurve(*image, o.metadata.icc);
    if (depth == Depth::ForEye || shrink > 1) image->deep = {};
    Image small = left > 1 ? shrinkByAveraging(*image, left) : std::move(*image);
    return o.format == FileFormat::Heic ? std::move(small)
                                        : upright(std::move(small), o.metadata.exif.orientation);
}

/// Cuts equal strips off two sides, so that the small picture has the shape of the large one.
Image cutToShape(Image small, double wide, double high) {
    const int w = std::min(small.width, static_cast<int>(std::lround(small.height * wide / high)));
    const int h = std::min(small.height, static_cast<int>(std::lround(small.width * high / wide)));
    if (w < 1 || h < 1 || (w >= small.width - 1 && h >= small.height - 1)) return small;
    Image out{w, h, small.channels, {}};
    const int x0 = (small.width - w) / 2, y0 = (small.height - h) / 2;
    for (int y = 0; y < h; ++y) {
        const std::uint8_t* row = small.at(x0, y + y0);
        out.data.insert(out.data.end(), row, row + static_cast<std::size_t>(w * small.channels));
    }
    return out;
}

std::optional<Image> jpegOf(const std::string& bytes) {
    JpegHeader header;
    const File f(fmemopen(const_cast<char*>(bytes.data()), bytes.size(), "rb"), &std::fclose);
    if (bytes.empty() || !f || readJpegHeader(f.get(), header) != JpegOutcome::Good ||
        (header.components != 1 && header.components != 3) ||
        static_cast<double>(header.width) * header.height > kMostPixels)
        return std::nullopt;
    Image image{header.width, header.height, header.components, {}};
    image.data.resize(static_cast<std::size_t>(header.width) * static_cast<std::size_t>(header.height) *
                      static_cast<std::size_t>(header.components));
    std::rewind(f.get());
    if (readJpegPixels(f.get(), 1, header, image.data.data()) != JpegOutcome::Good) return std::nullopt;
    return image;
}

Result<std::optional<Image>> smallPicture(const Opened& o, const std::filesystem::path& file) {
    if (o.format == FileFormat::Heic) return readHeicPreview(file);
    if (o.format != FileFormat::Raw) return jpegOf(readEmbeddedJpeg(file));
    const Result<std::optional<RawPreview>> raw = readRawPreview(file);
    if (!raw || !*raw) return std::optional<Image>();
    return (*raw)->jpeg.empty() ? std::optional<Image>((*raw)->image) : jpegOf((*raw)->jpeg);
}

Error noMemory(const std::filesystem::path& file) {
    return refused(file, "needs more memory than there is",
                   "close other programs, or use a smaller photograph");
}

}  // namespace

Result<StoredSize> storedSize(const std::filesystem::path& file) {
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    return StoredSize{o->header.width, o->header.height};
}

Result<Image> decode(const std::filesystem::path& file, int shrink, Depth depth) {
    if (shrink != 1 && shrink != 2 && shrink != 4 && shrink != 8)
        return Error{ErrorCode::BadValue, fmt::format("cannot be shrunk by {}", shrink), file.string(),
                     "use 1, 2, 4 or 8"};
    try {
        const Result<Opened> o = open(file);
        if (!o) return o.error();
        return decodeOpened(*o, file, shrink, depth);
    } catch (const std::bad_alloc&) {
        return noMemory(file);
    }
}

Result<std::optional<Image>> preview(const std::filesystem::path& file) {
    try {
        const Result<Opened> o = open(file);
        if (!o) return o.error();
        Result<std::optional<Image>> small = smallPicture(*o, file);
        if (!small || !*small) return small;
        const int turn = o->metadata.exif.orientation;
        const bool heic = o->format == FileFormat::Heic;
        Image image = heic ? std::move(**small) : upright(std::move(**small), turn);
        image.deep = {};
        const bool swaps = swapsSides(turn);
        return std::optional<Image>(cutToShape(std::move(image), swaps ? o->header.height : o->header.width,
                                               swaps ? o->header.width : o->header.height));
    } catch (const std::bad_alloc&) {
        return noMemory(file);
    }
}

}  // namespace trammel::photo
