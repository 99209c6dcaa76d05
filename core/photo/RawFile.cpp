// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/RawFile.h"

#include <libraw/libraw.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <memory>
#include <vector>

namespace trammel::photo {
namespace {

constexpr unsigned kMostMemory_MB = 3000;

/// LibRaw's turns (bits: mirrored in x, in y, axes exchanged) as EXIF orientations.
constexpr std::array<int, 8> kOrientationOfFlip = {1, 2, 4, 3, 5, 8, 6, 7};

Error faultOf(int code, const std::filesystem::path& file) {
    if (code == LIBRAW_FILE_UNSUPPORTED)
        return refused(file, "is a camera raw file of a kind that is not known here",
                       "convert it to DNG, or use the camera's JPEG");
    if (code == LIBRAW_TOO_BIG || code == LIBRAW_UNSUFFICIENT_MEMORY)
        return refused(file, "needs more memory than there is", "use a smaller photograph");
    return damaged(file);
}

/// LibRaw would write on standard error.
void quiet(void*, const char*, int) {}

/// LibRaw holds 200 kB of itself: on the heap.
struct Opened {
    std::unique_ptr<LibRaw> raw = std::make_unique<LibRaw>();
};

Result<Opened> open(const std::filesystem::path& file) {
    Opened o;
    o.raw->set_dataerror_handler(quiet, nullptr);
    o.raw->imgdata.params.max_raw_memory_mb = kMostMemory_MB;
    const int code = o.raw->open_file(file.c_str());
    if (code != LIBRAW_SUCCESS) return faultOf(code, file);
    return o;
}

void setUp(libraw_output_params_t& p, bool half) {
    p.output_bps = 16;
    p.gamm[0] = p.gamm[1] = 1.0;
    p.no_auto_bright = 1;
    p.adjust_maximum_thr = 0.0f;
    p.use_camera_wb = 1;
    p.user_flip = 0;  // orientation is applied later, once for all formats
    p.output_color = 1;
    p.half_size = half ? 1 : 0;
}

/// Linear light 0..65535 to codes 0..65535 of the sRGB curve (IEC 61966-2-1).
const std::vector<std::uint16_t>& codeTable() {
    static const std::vector<std::uint16_t> table = [] {
        std::vector<std::uint16_t> t(65536);
        for (std::size_t i = 0; i < t.size(); ++i) {
            const double l = static_cast<double>(i) / 65535.0;
            const double v = l <= 0.0031308 ? 12.92 * l : 1.055 * std::pow(l, 1.0 / 2.4) - 0.055;
            t[i] = static_cast<std::uint16_t>(std::lround(65535.0 * v));
        }
        return t;
    }();
    return table;
}

}  // namespace

Result<Header> readRawHeader(const std::filesystem::path& file) {
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    LibRaw& raw = *o->raw;
    const auto& s = raw.imgdata.sizes;
    Header h;
    // The sensor's whole mosaic is what LibRaw takes memory for.
    h.width = s.raw_width, h.height = s.raw_height;
    if (const Result<void> claim = checkClaim(h, file); !claim) return claim.error();
    h.orientation = kOrientationOfFlip[static_cast<std::size_t>(s.flip) & 7];
    setUp(raw.imgdata.params, false);
    if (const int code = raw.adjust_sizes_info_only(); code != LIBRAW_SUCCESS) return faultOf(code, file);
    h.width = s.iwidth, h.height = s.iheight;
    h.channels = raw.imgdata.idata.colors == 1 ? 1 : 3;
    h.leastBytes = static_cast<double>(h.width) * h.height / 1024.0;  // DNG may hold JPEG data
    if (const Result<void> claim = checkClaim(h, file); !claim) return claim.error();
    return h;
}

Result<Image> readRawPixels(const std::filesystem::path& file, bool half) {
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    LibRaw& raw = *o->raw;
    setUp(raw.imgdata.params, half);
    int code = raw.unpack();
    if (code == LIBRAW_SUCCESS) code = raw.dcraw_process();
    if (code != LIBRAW_SUCCESS) return faultOf(code, file);
    // LibRaw goes on where data end early, and keeps the count of such faults to itself but for this.
    if (raw.error_count() > 0) return damaged(file);
    const std::unique_ptr<libraw_processed_image_t, void (*)(libraw_processed_image_t*)> made(
        raw.dcraw_make_mem_image(&code), &LibRaw::dcraw_clear_mem);
    if (!made || made->type != LIBRAW_IMAGE_BITMAP || made->bits != 16 ||
        (made->colors != 1 && made->colors != 3))
        return faultOf(code, file);
    Image image{made->width, made->height, made->colors, {}};
    const std::size_t count = static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height) *
                              static_cast<std::size_t>(image.channels);
    image.deep.resize(count);
    // LibRaw's samples are 16 bit in the machine's order, and begin at no even address by promise.
    std::memcpy(image.deep.data(), made->data, 2 * count);
    const std::vector<std::uint16_t>& codes = codeTable();
    for (std::uint16_t& v : image.deep) v = codes[v];
    image.codeStep = 1.0f / 257.0f;
    roundForTheEye(image);
    return image;
}

Result<std::optional<RawPreview>> readRawPreview(const std::filesystem::path& file) {
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    LibRaw& raw = *o->raw;
    if (raw.unpack_thumb() != LIBRAW_SUCCESS) return std::optional<RawPreview>();
    const libraw_thumbnail_t& t = raw.imgdata.thumbnail;
    RawPreview out;
    if (t.tformat == LIBRAW_THUMBNAIL_JPEG) {
        out.jpeg.assign(t.thumb, t.tlength);
        return std::optional<RawPreview>(std::move(out));
    }
    const std::size_t count = std::size_t{3} * t.twidth * t.theight;
    if (t.tformat != LIBRAW_THUMBNAIL_BITMAP || t.tcolors != 3 || count == 0 || t.tlength < count)
        return std::optional<RawPreview>();
    out.image = Image{t.twidth, t.theight, 3, {}};
    out.image.data.assign(t.thumb, t.thumb + count);
    return std::optional<RawPreview>(std::move(out));
}

Result<Exif> readRawExif(const std::filesystem::path& file) {
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    const auto& d = o->raw->imgdata;
    Exif e;
    e.make = d.idata.make;
    e.model = d.idata.model;
    e.lensModel = d.lens.Lens;
    if (std::isfinite(d.other.focal_len) && d.other.focal_len > 0.1f) e.focalLength_mm = d.other.focal_len;
    if (d.lens.FocalLengthIn35mmFormat > 0) e.focalLength35_mm = d.lens.FocalLengthIn35mmFormat;
    e.orientation = kOrientationOfFlip[static_cast<std::size_t>(d.sizes.flip) & 7];
    return e;
}

}  // namespace trammel::photo
