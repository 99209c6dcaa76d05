// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/HeicFile.h"

#include <fmt/core.h>
#include <libheif/heif.h>

#include <algorithm>
#include <cstring>
#include <memory>
#include <string_view>
#include <vector>

#include "core/photo/Orientation.h"

namespace trammel::photo {
namespace {

constexpr double kMostPixelsAByte = 65536.0;  ///< of an even grey surface; more is a lie

using Context = std::unique_ptr<heif_context, void (*)(heif_context*)>;
using Handle = std::unique_ptr<const heif_image_handle, void (*)(const heif_image_handle*)>;
using Picture = std::unique_ptr<const heif_image, void (*)(const heif_image*)>;
using Options = std::unique_ptr<heif_decoding_options, void (*)(heif_decoding_options*)>;

bool good(const heif_error& e) { return e.code == heif_error_Ok; }

struct Opened {
    Context context{heif_context_alloc(), heif_context_free};
    Handle primary{nullptr, heif_image_handle_release};
};

Error faultOf(const heif_error& e, const std::filesystem::path& file) {
    if (e.code == heif_error_Unsupported_filetype || e.code == heif_error_Unsupported_feature)
        return refused(file, "is a HEIC picture of a kind that cannot be read here",
                       "export it as JPEG or PNG");
    return damaged(file);
}

Result<Opened> open(const std::filesystem::path& file) {
    Opened o;
    heif_error e = heif_context_read_from_file(o.context.get(), file.c_str(), nullptr);
    if (!good(e)) return faultOf(e, file);
    heif_image_handle* handle = nullptr;
    e = heif_context_get_primary_image_handle(o.context.get(), &handle);
    if (!good(e)) return faultOf(e, file);
    o.primary.reset(handle);
    return o;
}

/// Samples of 8 bits, or of 9 to 16 spread to 16.
void copyRow(const std::uint8_t* row, int bits, std::size_t count, std::uint16_t* to) {
    const std::uint32_t most = (1u << bits) - 1;
    for (std::size_t i = 0; i < count; ++i) {
        const std::uint32_t v = row[2 * i] | (std::uint32_t{row[2 * i + 1]} << 8);
        to[i] = static_cast<std::uint16_t>((std::min(v, most) * 65535u + most / 2) / most);
    }
}

Result<Image> pixelsOf(const heif_image_handle* handle, const std::filesystem::path& file) {
    const int bits = heif_image_handle_get_luma_bits_per_pixel(handle);
    const bool deep = bits > 8;
    const Options options(heif_decoding_options_alloc(), heif_decoding_options_free);
    options->strict_decoding = 1;
    heif_image* raw = nullptr;
    const heif_error e = heif_decode_image(
        handle, &raw, heif_colorspace_RGB,
        deep ? heif_chroma_interleaved_RRGGBB_LE : heif_chroma_interleaved_RGB, options.get());
    if (!good(e)) return faultOf(e, file);
    const Picture picture(raw, heif_image_release);
    Image image{heif_image_get_width(raw, heif_channel_interleaved),
                heif_image_get_height(raw, heif_channel_interleaved),
                3,
                {}};
    if (image.width != heif_image_handle_get_width(handle) ||
        image.height != heif_image_handle_get_height(handle))
        return damaged(file);
    int stride = 0;
    const std::uint8_t* plane = heif_image_get_plane_readonly(raw, heif_channel_interleaved, &stride);
    const int held = heif_image_get_bits_per_pixel_range(raw, heif_channel_interleaved);
    if (!plane || (deep && (held < 9 || held > 16))) return damaged(file);
    const std::size_t row = static_cast<std::size_t>(image.width) * 3;
    const auto rows = static_cast<std::size_t>(image.height);
    image.lossy = true;
    if (deep) {
        image.deep.resize(row * rows);
        image.codeStep = 255.0f / static_cast<float>((1 << held) - 1);
        for (std::size_t y = 0; y < rows; ++y)
            copyRow(plane + y * static_cast<std::size_t>(stride), held, row, image.deep.data() + y * row);
        roundForTheEye(image);
        return image;
    }
    image.data.resize(row * rows);
    for (std::size_t y = 0; y < rows; ++y)
        std::memcpy(image.data.data() + y * row, plane + y * static_cast<std::size_t>(stride), row);
    return image;
}

std::string metadata(const heif_image_handle* handle, const char* type, std::string_view content) {
    const int count = heif_image_handle_get_number_of_metadata_blocks(handle, type);
    std::vector<heif_item_id> ids(static_cast<std::size_t>(std::max(0, count)));
    heif_image_handle_get_list_of_metadata_block_IDs(handle, type, ids.data(), count);
    for (const heif_item_id id : ids) {
        const char* kind = heif_image_handle_get_metadata_content_type(handle, id);
        if (!content.empty() && (!kind || content != kind)) continue;
        std::string bytes(heif_image_handle_get_metadata_size(handle, id), '\0');
        if (!bytes.empty() && good(heif_image_handle_get_metadata(handle, id, bytes.data()))) return bytes;
    }
    return {};
}

/// An EXIF item opens with four bytes that say where, after them, the TIFF structure begins.
std::string withoutOffset(const std::string& item) {
    if (item.size() < 8) return {};
    std::size_t skip = 0;
    for (std::size_t i = 0; i < 4; ++i) skip = skip << 8 | static_cast<unsigned char>(item[i]);
    return skip < item.size() - 4 ? item.substr(4 + skip) : std::string();
}

}  // namespace

Result<Header> readHeicHeader(const std::filesystem::path& file, const Exif& exif) {
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    Header h;
    h.width = heif_image_handle_get_width(o->primary.get());
    h.height = heif_image_handle_get_height(o->primary.get());
    h.channels = 3;
    h.leastBytes = static_cast<double>(h.width) * h.height / kMostPixelsAByte;
    const bool swaps = swapsSides(exif.orientation);
    const bool told = exif.pixelWidth && exif.pixelHeight && *exif.pixelWidth != *exif.pixelHeight;
    const bool lies = told && h.width != h.height &&
                      swaps != ((*exif.pixelWidth > *exif.pixelHeight) != (h.width > h.height));
    h.orientation = lies ? 1 : exif.orientation;
    if (swapsSides(h.orientation)) std::swap(h.width, h.height);
    if (const Result<void> claim = checkClaim(h, file); !claim) return claim.error();
    return h;
}

Result<HeicExtras> readHeicExtras(const std::filesystem::path& file) {
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    const heif_image_handle* handle = o->primary.get();
    HeicExtras out;
    out.exif = withoutOffset(metadata(handle, "Exif", ""));
    out.xmp = metadata(handle, "mime", "application/rdf+xml");
    out.icc.resize(heif_image_handle_get_raw_color_profile_size(handle));
    if (!out.icc.empty() && !good(heif_image_handle_get_raw_color_profile(handle, out.icc.data())))
        out.icc.clear();
    heif_color_profile_nclx* nclx = nullptr;
    if (good(heif_image_handle_get_nclx_color_profile(handle, &nclx)) && nclx) {
        out.transfer = static_cast<int>(nclx->transfer_characteristics);
        heif_nclx_color_profile_free(nclx);
    }
    return out;
}

Result<Image> readHeicPixels(const std::filesystem::path& file) {
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    return pixelsOf(o->primary.get(), file);
}

constexpr int kWidestPreview = 4096;  ///< px; makers' own are of 320 to 1600

Result<std::optional<Image>> readHeicPreview(const std::filesystem::path& file) {
    const Result<Opened> o = open(file);
    if (!o) return o.error();
    heif_item_id id = 0;
    heif_image_handle* small = nullptr;
    if (heif_image_handle_get_list_of_thumbnail_IDs(o->primary.get(), &id, 1) != 1 ||
        !good(heif_image_handle_get_thumbnail(o->primary.get(), id, &small)))
        return std::optional<Image>();
    const Handle owner(small, heif_image_handle_release);
    // A small picture that claims more than the whole one may is no preview.
    if (heif_image_handle_get_width(small) > kWidestPreview ||
        heif_image_handle_get_height(small) > kWidestPreview)
        return std::optional<Image>();
    Result<Image> image = pixelsOf(small, file);
    if (!image) return std::optional<Image>();
    return std::optional<Image>(std::move(*image));
}

}  // namespace trammel::photo
