// SPDX-License-Identifier: GPL-3.0-or-later
// Time to a first picture and to all levels of a large JPEG, over one plain decode by libjpeg-turbo
// (TurboJPEG's own interface, RGB) in the same run: bench_photo [MEGAPIXELS] [REPEAT].
#include <fmt/core.h>
#include <turbojpeg.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <random>
#include <vector>

#include "MakePhotographs.h"
#include "TemporaryFolder.h"
#include "core/photo/Decode.h"
#include "core/photo/Encode.h"
#include "core/photo/Exif.h"

using namespace trammel;

namespace {

/// A picture with edges and noise, so that its JPEG is as large as a camera's.
photo::Image scene(int width, int height) {
    photo::Image image{width, height, 3, {}};
    image.data.resize(static_cast<std::size_t>(width) * static_cast<std::size_t>(height) * 3);
    std::mt19937 random(1);
    std::size_t i = 0;
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x) {
            const int base = ((x / 97 + y / 131) % 2 ? 60 : 170) + static_cast<int>(random() % 28);
            for (int c = 0; c < 3; ++c) image.data[i++] = static_cast<std::uint8_t>(base + 10 * c);
        }
    return image;
}

/// Least of the processor's seconds over the repeats: other programs run beside.
double seconds(int repeat, const std::function<bool()>& work) {
    double best = 1e9;
    for (int k = 0; k < repeat; ++k) {
        const std::clock_t begin = std::clock();
        if (!work()) std::abort();
        best = std::min(best, static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC);
    }
    return best;
}

bool plainDecode(const std::string& file) {
    std::ifstream in(file, std::ios::binary);
    std::vector<unsigned char> bytes((std::istreambuf_iterator<char>(in)), {});
    const tjhandle handle = tjInitDecompress();
    int w = 0, h = 0, sampling = 0, space = 0;
    tjDecompressHeader3(handle, bytes.data(), bytes.size(), &w, &h, &sampling, &space);
    std::vector<unsigned char> out(static_cast<std::size_t>(w) * static_cast<std::size_t>(h) * 3);
    const bool good = tjDecompress2(handle, bytes.data(), bytes.size(), out.data(), w, 0, h, TJPF_RGB,
                                    TJFLAG_ACCURATEDCT) == 0;
    tjDestroy(handle);
    return good;
}

}  // namespace

int main(int argc, char** argv) {
    const double megapixels = argc > 1 ? std::atof(argv[1]) : 60.0;
    const int repeat = argc > 2 ? std::atoi(argv[2]) : 3;
    const int width = static_cast<int>(std::sqrt(1.5e6 * megapixels)) / 16 * 16, height = width * 2 / 3;
    const test::TemporaryFolder folder;
    const auto plain = (folder / "plain.jpg").string(), with = (folder / "with.jpg").string();
    if (!photo::encodeJpeg(scene(width, height), plain, 92, photo::Chroma::Halved)) return 1;
    // The same with EXIF that holds a small picture, as cameras write it.
    test::makeJpeg(folder / "small.jpg", 160, 106, 3, test::texture);
    const std::string exif =
        test::ExifBytes().ratio(0x920A, 200, 1).thumbnail(test::bytesOf(folder / "small.jpg")).bytes();
    const std::string bytes = test::bytesOf(plain);
    const auto size = exif.size() + 2;
    test::putBytes(with, bytes.substr(0, 2) + "\xff\xe1" + static_cast<char>(size >> 8) +
                             static_cast<char>(size & 0xff) + exif + bytes.substr(2));
    fmt::print("{} × {} px, {:.1f} MB; seconds of processor, least of {}, and over the plain decode\n", width,
               height, static_cast<double>(bytes.size()) / 1e6, repeat);
    const double whole = seconds(repeat, [&] { return plainDecode(plain); });
    const auto line = [whole](const char* what, double t) {
        fmt::print("  {:<44} {:8.4f}  {:7.4f}\n", what, t, t / whole);
    };
    line("plain decode by libjpeg-turbo", whole);
    line("embedded small picture, upright", seconds(repeat, [&] {
             const auto p = photo::preview(with);
             return p && *p;
         }));
    line("decode at an eighth (first picture without one)",
         seconds(repeat, [&] { return static_cast<bool>(photo::decode(plain, 8)); }));
    line("our decode", seconds(repeat, [&] { return static_cast<bool>(photo::decode(plain)); }));
    return 0;
}
