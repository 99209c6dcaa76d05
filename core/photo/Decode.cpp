// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/Decode.h"

#include <fmt/core.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>

#include "core/photo/Exif.h"
#include "core/photo/JpegTrap.h"
#include "core/photo/Orientation.h"
#include "core/photo/PngFile.h"

namespace trammel::photo {
namespace {

constexpr double kMostPixels = 256e6;  ///< larger claims are refused before any memory is taken

using File = std::unique_ptr<std::FILE, int (*)(std::FILE*)>;

/// A file opened and recognised, before any pixel is decoded.
struct Opened {
    File file{nullptr, &std::fclose};
    bool isPng = false;
    PngHeader png;
    JpegHeader header;  ///< size and channels, of either format
};

Error fault(ErrorCode code, const std::filesystem::path& file, std::string what, std::string remedy) {
    return {code, std::move(what), file.string(), std::move(remedy)};
}

Error truncated(const std::filesystem::path& file) {
    return fault(ErrorCode::FileDamaged, file, "the photograph is truncated",
                 "copy it from the camera again");
}

Error jpegFault(JpegOutcome outcome, const std::filesystem::path& file) {
    switch (outcome) {
        case JpegOutcome::Truncated:
            return truncated(file);
        case JpegOutcome::NoJpeg:
            return fault(ErrorCode::FileDamaged, file, "is no JPEG or PNG photograph", "choose a photograph");
        case JpegOutcome::Unsupported:
            return fault(ErrorCode::FileDamaged, file, "is a kind of JPEG that cannot be read here",
                         "export it as an ordinary 8-bit JPEG");
        default:
            return fault(ErrorCode::FileDamaged, file, "the photograph is damaged",
                         "copy it from the camera again");
    }
}

/// A JPEG block of 8 × 8 takes more than half a bit; deflate gains at most a factor of 1032 (RFC 1951 coding
/// of runs of 258). A header that claims more than its file could hold is refused unread.
bool couldHold(std::uintmax_t fileSize, const Opened& o) {
    const double pixels = static_cast<double>(o.header.width) * o.header.height;
    const double least = o.isPng ? pixels * o.png.bitsPerPixel / 8.0 / 1032.0 : pixels / 1024.0;
    return static_cast<double>(fileSize) >= least - 1.0;
}

Result<Opened> open(const std::filesystem::path& file) {
    std::error_code code;
    if (std::filesystem::is_directory(file, code))
        return fault(ErrorCode::FileMissing, file, "is a folder, not a photograph", "name a file inside it");
    Opened o;
    o.file.reset(std::fopen(file.c_str(), "rb"));
    if (!o.file)
        return fault(ErrorCode::FileMissing, file, fmt::format("cannot be opened ({})", std::strerror(errno)),
                     "check the name and the permissions");
    const std::uintmax_t size = std::filesystem::file_size(file, code);
    if (!code && size == 0)
        return fault(ErrorCode::FileDamaged, file, "the file is empty", "copy it from the camera again");
    if (readPngHeader(o.file.get(), o.png)) {
        o.isPng = true;
        o.header = {o.png.width, o.png.height, o.png.channels};
    } else {
        std::rewind(o.file.get());
        const JpegOutcome outcome = readJpegHeader(o.file.get(), o.header);
        if (outcome != JpegOutcome::Good) return jpegFault(outcome, file);
    }
    if (static_cast<double>(o.header.width) * o.header.height > kMostPixels)
        return fault(
            ErrorCode::Refused, file,
            fmt::format("its header claims {} × {} px, more than the {:g} megapixels that can be worked on",
                        o.header.width, o.header.height, kMostPixels / 1e6),
            "use a photograph straight from a camera");
    if (!code && !couldHold(size, o))
        return fault(ErrorCode::FileDamaged, file,
                     fmt::format("its header claims {} × {} px, but the file holds only {} bytes",
                                 o.header.width, o.header.height, size),
                     "copy it from the camera again");
    if (o.isPng && !o.png.complete) return truncated(file);
    std::rewind(o.file.get());
    return o;
}

Result<Image> pixels(const Opened& o, const std::filesystem::path& file, int shrink) {
    if (o.header.components == 4)
        return fault(ErrorCode::Refused, file, "is a CMYK picture, made for printing", "export it as RGB");
    if (o.header.components != 1 && o.header.components != 3)
        return jpegFault(JpegOutcome::Unsupported, file);
    const int early = o.isPng ? 1 : shrink;  // PNG is shrunk after decoding
    Image image{shrunk(o.header.width, early), shrunk(o.header.height, early), o.header.components, {}};
    image.levelStep = o.header.levelStep;
    image.lossy = !o.isPng;
    const std::size_t count = static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height) *
                              static_cast<std::size_t>(image.channels);
    const bool deep = o.isPng && o.png.deep;
    if (deep)
        image.deep.resize(count), image.codeStep = 1.0f / 257.0f;
    else
        image.data.resize(count);
    JpegOutcome outcome = JpegOutcome::Good;
    if (!o.isPng)
        outcome = readJpegPixels(o.file.get(), shrink, o.header, image.data.data());
    else if (!readPngPixels(o.file.get(), o.png,
                            deep ? static_cast<void*>(image.deep.data()) : image.data.data()))
        outcome = JpegOutcome::Damaged;
    if (outcome != JpegOutcome::Good) return jpegFault(outcome, file);
    if (deep) roundForTheEye(image);
    return o.isPng ? shrinkByAveraging(image, shrink) : std::move(image);
}

}  // namespace

Result<StoredSize> storedSize(const std::filesystem::path& file) {
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    return StoredSize{o->header.width, o->header.height};
}

Result<Image> decode(const std::filesystem::path& file, int shrink) {
    if (shrink != 1 && shrink != 2 && shrink != 4 && shrink != 8)
        return fault(ErrorCode::BadValue, file, fmt::format("cannot be shrunk by {}", shrink),
                     "use 1, 2, 4 or 8");
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    Result<Image> image = pixels(*o, file, shrink);
    if (!image) return image.error();
    // Unreadable metadata do not spoil the pixels: the picture is then shown as stored.
    const Result<Exif> exif = readExif(file);
    return upright(std::move(*image), exif ? exif->orientation : 1);
}

}  // namespace trammel::photo
