// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <png.h>

#include <cstdio>
#include <filesystem>
#include <functional>
#include <vector>

namespace trammel::test {

/// Writes a PNG with libpng's full interface, so that bit depths and transparency are what they say.
inline void makePng(const std::filesystem::path& file, int width, int height, int depth, int type,
                    bool interlaced, const std::function<int(int x, int y, int c)>& sample) {
    std::FILE* f = std::fopen(file.c_str(), "wb");
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
    png_infop info = png_create_info_struct(png);
    png_init_io(png, f);
    png_set_IHDR(png, info, static_cast<unsigned>(width), static_cast<unsigned>(height), depth, type,
                 interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                 PNG_FILTER_TYPE_DEFAULT);
    png_write_info(png, info);
    const int channels = png_get_channels(png, info);
    std::vector<png_byte> pixels;
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x)
            for (int c = 0; c < channels; ++c) {
                const int v = sample(x, y, c);
                if (depth == 16) pixels.push_back(static_cast<png_byte>(v >> 8));
                pixels.push_back(static_cast<png_byte>(v));
            }
    const std::size_t stride = pixels.size() / static_cast<std::size_t>(height);
    std::vector<png_bytep> rows;
    for (int y = 0; y < height; ++y) rows.push_back(pixels.data() + static_cast<std::size_t>(y) * stride);
    png_write_image(png, rows.data());
    png_write_end(png, nullptr);
    png_destroy_write_struct(&png, &info);
    std::fclose(f);
}

}  // namespace trammel::test
