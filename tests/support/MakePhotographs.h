// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

// jpeglib.h wants stdio first.
#include <jpeglib.h>

/// Small photographs made for tests, with EXIF bytes laid down by hand (TIFF 6.0, little-endian; CIPA
/// DC-008), so that reading is checked against something other than our own writer.
namespace trammel::test {

/// An EXIF block, tag by tag.
class ExifBytes {
  public:
    ExifBytes& text(std::uint16_t tag, std::string s) {
        s.push_back('\0');
        const auto count = static_cast<std::uint32_t>(s.size());
        return add(tag, 2, count, std::move(s));
    }
    ExifBytes& whole(std::uint16_t tag, std::uint16_t v) { return add(tag, 3, 1, little(v, 2)); }
    ExifBytes& longer(std::uint16_t tag, std::uint32_t v) { return add(tag, 4, 1, little(v, 4)); }
    ExifBytes& ratio(std::uint16_t tag, std::uint32_t n, std::uint32_t d) {
        return add(tag, 5, 1, little(n, 4) + little(d, 4));
    }
    /// A JPEG as the camera's small picture, in a directory of its own behind the first.
    ExifBytes& thumbnail(std::string jpeg) {
        thumbnail_ = std::move(jpeg);
        return *this;
    }
    /// "Exif\0\0" and the TIFF structure: tags below 0x8000 in the first directory, the others in the second.
    std::string bytes() const {
        std::vector<Entry> first, second;
        for (const Entry& e : entries_) (e.tag < 0x8000 ? first : second).push_back(e);
        const auto size = [](const std::vector<Entry>& list, std::size_t more) {
            std::size_t n = 2 + 12 * (list.size() + more) + 4;
            for (const Entry& e : list) n += e.value.size() > 4 ? e.value.size() + e.value.size() % 2 : 0;
            return n;
        };
        const auto secondAt = static_cast<std::uint32_t>(8 + size(first, 1));
        first.push_back({0x8769, 4, 1, little(secondAt, 4)});
        std::string out =
            std::string("Exif\0\0II*\0\x08\0\0\0", 14) + directory(first, 8) + directory(second, secondAt);
        if (thumbnail_.empty()) return out;
        const auto thirdAt = static_cast<std::uint32_t>(out.size() - 6);
        out.replace(14 + 2 + 12 * first.size(), 4, little(thirdAt, 4));
        const std::vector<Entry> third = {
            {0x0103, 3, 1, little(6, 2)},
            {0x0201, 4, 1, little(thirdAt + 2 + 3 * 12 + 4, 4)},
            {0x0202, 4, 1, little(static_cast<std::uint32_t>(thumbnail_.size()), 4)}};
        return out + directory(third, thirdAt) + thumbnail_;
    }

  private:
    struct Entry {
        std::uint16_t tag, type;
        std::uint32_t count;
        std::string value;
    };
    static std::string little(std::uint32_t v, int n) {
        std::string s;
        for (int i = 0; i < n; ++i) s.push_back(static_cast<char>(v >> (8 * i) & 0xff));
        return s;
    }
    ExifBytes& add(std::uint16_t tag, std::uint16_t type, std::uint32_t count, std::string value) {
        entries_.push_back({tag, type, count, std::move(value)});
        return *this;
    }
    static std::string directory(const std::vector<Entry>& list, std::uint32_t at) {
        std::string head = little(static_cast<std::uint32_t>(list.size()), 2), tail;
        const auto tailAt = static_cast<std::uint32_t>(at + 2 + 12 * list.size() + 4);
        for (const Entry& e : list) {
            head += little(e.tag, 2) + little(e.type, 2) + little(e.count, 4);
            std::string v = e.value;
            if (v.size() <= 4) {
                v.resize(4);
                head += v;
                continue;
            }
            v.resize(v.size() + v.size() % 2);
            head += little(tailAt + static_cast<std::uint32_t>(tail.size()), 4);
            tail += v;
        }
        return head + little(0, 4) + tail;
    }
    std::vector<Entry> entries_;
    std::string thumbnail_;
};

/// Writes a JPEG of 1, 3 or 4 components; `pixel` gives a component of a pixel.
inline void makeJpeg(const std::filesystem::path& file, int width, int height, int components,
                     const std::function<int(int x, int y, int c)>& pixel, const std::string& exif = "",
                     bool progressive = false) {
    std::FILE* f = std::fopen(file.c_str(), "wb");
    jpeg_compress_struct jpeg;
    jpeg_error_mgr errors;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, f);
    jpeg.image_width = static_cast<unsigned>(width);
    jpeg.image_height = static_cast<unsigned>(height);
    jpeg.input_components = components;
    jpeg.in_color_space = components == 1 ? JCS_GRAYSCALE : components == 3 ? JCS_RGB : JCS_CMYK;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, 95, TRUE);
    if (progressive) jpeg_simple_progression(&jpeg);
    jpeg_start_compress(&jpeg, TRUE);
    if (!exif.empty())
        jpeg_write_marker(&jpeg, JPEG_APP0 + 1, reinterpret_cast<const JOCTET*>(exif.data()),
                          static_cast<unsigned>(exif.size()));
    std::vector<JSAMPLE> row(static_cast<std::size_t>(width) * static_cast<std::size_t>(components));
    for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x)
            for (int c = 0; c < components; ++c)
                row[static_cast<std::size_t>(x * components + c)] = static_cast<JSAMPLE>(pixel(x, y, c));
        JSAMPROW p = row.data();
        jpeg_write_scanlines(&jpeg, &p, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    std::fclose(f);
}

/// A picture with enough texture that its file is not tiny.
inline int texture(int x, int y, int c) { return (x * 7 + y * 13 + c * 50 + (x * y) % 31 * 4) % 256; }

/// Overwrites the size in a baseline or progressive JPEG's frame header.
inline std::string withClaimedSize(std::string jpeg, int width, int height) {
    for (std::size_t i = 0; i + 9 < jpeg.size(); ++i) {
        const auto marker = static_cast<unsigned char>(jpeg[i + 1]);
        if (static_cast<unsigned char>(jpeg[i]) != 0xff || (marker != 0xc0 && marker != 0xc2)) continue;
        jpeg[i + 5] = static_cast<char>(height >> 8), jpeg[i + 6] = static_cast<char>(height & 0xff);
        jpeg[i + 7] = static_cast<char>(width >> 8), jpeg[i + 8] = static_cast<char>(width & 0xff);
        break;
    }
    return jpeg;
}

}  // namespace trammel::test
