// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/PngFile.h"

#include <png.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <csetjmp>
#include <cstring>

#include "core/photo/JpegTrap.h"

namespace trammel::photo {
namespace {

std::uint32_t bigEndian(const unsigned char* p) {
    return (std::uint32_t{p[0]} << 24) | (std::uint32_t{p[1]} << 16) | (std::uint32_t{p[2]} << 8) | p[3];
}

bool reachesEnd(std::FILE* f, long size) {
    long at = 8;
    while (std::fseek(f, at, SEEK_SET) == 0) {
        std::array<unsigned char, 8> head{};
        if (std::fread(head.data(), 1, head.size(), f) != head.size()) return false;
        const long next = at + 12 + static_cast<long>(bigEndian(head.data()));
        if (next > size) return false;
        if (std::memcmp(head.data() + 4, "IEND", 4) == 0) return true;
        at = next;
    }
    return false;
}

// libpng leaves by longjmp: nothing between the trap and the throw may have a destructor.
[[noreturn]] void leave(png_structp png, png_const_charp) { png_longjmp(png, 1); }
void ignore(png_structp, png_const_charp) {}

double light(double code) {
    const double v = code / 255.0;
    return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
}

std::uint8_t codeOf(double l) {
    const double v = l <= 0.0031308 ? 12.92 * l : 1.055 * std::pow(l, 1.0 / 2.4) - 0.055;
    return static_cast<std::uint8_t>(std::clamp(std::lround(v * 255.0), 0L, 255L));
}

}  // namespace

bool readPngHeader(std::FILE* f, PngHeader& header) {
    std::array<unsigned char, 29> head{};
    if (std::fread(head.data(), 1, head.size(), f) != head.size()) return false;
    if (png_sig_cmp(head.data(), 0, 8) != 0 || std::memcmp(head.data() + 12, "IHDR", 4) != 0) return false;
    const std::uint32_t w = bigEndian(head.data() + 16), h = bigEndian(head.data() + 20);
    if (w == 0 || h == 0 || w > 0x7fffffff || h > 0x7fffffff) return false;
    constexpr std::array<int, 7> channelsOfType = {1, 0, 3, 1, 2, 0, 4};
    const int type = head[25] <= 6 ? channelsOfType[head[25]] : 0;
    header.deep = head[24] == 16;
    header.width = static_cast<int>(w);
    header.height = static_cast<int>(h);
    header.bitsPerPixel = type * head[24];
    header.channels = head[25] == PNG_COLOR_TYPE_GRAY || head[25] == PNG_COLOR_TYPE_GRAY_ALPHA ? 1 : 3;
    if (std::fseek(f, 0, SEEK_END) != 0) return false;
    header.complete = reachesEnd(f, std::ftell(f));
    return header.bitsPerPixel > 0;
}

bool readPngPixels(std::FILE* f, const PngHeader& header, void* pixels) {
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, nullptr, leave, ignore);
    if (!png) return false;
    png_infop info = png_create_info_struct(png);
    if (!info || setjmp(png_jmpbuf(png))) {
        png_destroy_read_struct(&png, &info, nullptr);
        return false;
    }
    png_init_io(png, f);
    png_read_info(png, info);
    const int passes = png_set_interlace_handling(png);
    if constexpr (std::endian::native == std::endian::little)
        if (header.deep) png_set_swap(png);
    if (png_get_color_type(png, info) == PNG_COLOR_TYPE_PALETTE)
        png_set_palette_to_rgb(png);
    else if (png_get_bit_depth(png, info) < 8)
        png_set_expand_gray_1_2_4_to_8(png);
    png_set_strip_alpha(png);
    png_read_update_info(png, info);
    const std::size_t stride = static_cast<std::size_t>(header.width) *
                               static_cast<std::size_t>(header.channels) * (header.deep ? 2 : 1);
    if (png_get_rowbytes(png, info) != stride ||
        png_get_image_height(png, info) != static_cast<unsigned>(header.height))
        png_longjmp(png, 1);  // the file changed under our hands
    for (int pass = 0; pass < passes; ++pass)
        for (int y = 0; y < header.height; ++y)
            png_read_row(png, static_cast<png_bytep>(pixels) + static_cast<std::size_t>(y) * stride, nullptr);
    png_read_end(png, nullptr);
    png_destroy_read_struct(&png, &info, nullptr);
    return true;
}

Image shrinkByAveraging(const Image& image, int shrink) {
    if (shrink <= 1) return image;
    std::array<float, 256> table{};
    for (int i = 0; i < 256; ++i) table[static_cast<std::size_t>(i)] = static_cast<float>(light(i));
    Image out{shrunk(image.width, shrink), shrunk(image.height, shrink), image.channels, {}};
    out.data.reserve(static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height) *
                     static_cast<std::size_t>(out.channels));
    for (int y = 0; y < out.height; ++y)
        for (int x = 0; x < out.width; ++x) {
            const int x1 = std::min((x + 1) * shrink, image.width),
                      y1 = std::min((y + 1) * shrink, image.height);
            for (int c = 0; c < image.channels; ++c) {
                double sum = 0.0;
                for (int v = y * shrink; v < y1; ++v)
                    for (int u = x * shrink; u < x1; ++u) sum += table[image.at(u, v)[c]];
                out.data.push_back(codeOf(sum / ((x1 - x * shrink) * (y1 - y * shrink))));
            }
        }
    return out;
}

}  // namespace trammel::photo
