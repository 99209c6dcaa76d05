// SPDX-License-Identifier: GPL-3.0-or-later
// Writes small sound photographs of every kind as seeds: seeds FOLDER makes FOLDER/Jpeg, Png, Tiff, Heic,
// Raw.
#include <fmt/core.h>

#include <cstdlib>
#include <filesystem>

#include "MakePhotographs.h"
#include "MakePng.h"
#include "MakeTiffs.h"

using namespace trammel::test;

namespace {

void jpegs(const std::filesystem::path& to) {
    const std::string exif =
        ExifBytes().text(0x0110, "Example One").whole(0x0112, 6).ratio(0x920A, 200, 1).bytes();
    makeJpeg(to / "colour.jpg", 24, 16, 3, texture, exif);
    makeJpeg(to / "grey.jpg", 17, 9, 1, texture);
    makeJpeg(to / "slow.jpg", 24, 16, 3, texture, "", true);
    makeJpeg(to / "cmyk.jpg", 16, 16, 4, texture);
}

void pngs(const std::filesystem::path& to) {
    int i = 0;
    for (const int depth : {8, 16})
        for (const int type : {PNG_COLOR_TYPE_GRAY, PNG_COLOR_TYPE_RGB, PNG_COLOR_TYPE_RGB_ALPHA})
            makePng(to / fmt::format("{}.png", i++), 12, 9, depth, type, depth == 16, texture);
}

void largerPng(const std::filesystem::path& file) {
    makePng(file, 64, 48, 8, PNG_COLOR_TYPE_RGB, false, texture);
}

void tiffs(const std::filesystem::path& to) {
    int i = 0;
    for (const int bits : {8, 16})
        for (const bool tiled : {false, true})
            for (const int compression : {COMPRESSION_NONE, COMPRESSION_LZW, COMPRESSION_ADOBE_DEFLATE,
                                          COMPRESSION_PACKBITS, COMPRESSION_JPEG}) {
                if (bits == 16 && compression == COMPRESSION_JPEG) continue;
                TiffKind k;
                k.width = 20, k.height = 18, k.bits = bits, k.tiled = tiled;
                k.compression = static_cast<std::uint16_t>(compression);
                makeTiff(to / fmt::format("{}.tif", i++), k, texture);
            }
    TiffKind palette;
    palette.samples = 1, palette.photometric = PHOTOMETRIC_PALETTE;
    makeTiff(to / "palette.tif", palette, texture);
}

/// By libheif's own program, where it is installed.
void heics(const std::filesystem::path& to, const std::filesystem::path& pngFolder) {
    for (const char* options : {"-q 50", "-q 50 -t 32"}) {
        static int i = 0;
        const std::string command =
            fmt::format("heif-enc {} -o '{}' '{}' >/dev/null 2>&1", options,
                        (to / fmt::format("{}.heic", i++)).string(), (pngFolder / "large.png").string());
        if (std::system(command.c_str()) != 0)
            fmt::print("no HEIC seeds: heif-enc (libheif-examples) is missing\n");
    }
}

}  // namespace

int main(int argc, char** argv) {
    const std::filesystem::path to = argc > 1 ? argv[1] : "seeds";
    for (const char* name : {"Jpeg", "Png", "Tiff", "Heic", "Raw"})
        std::filesystem::create_directories(to / name);
    jpegs(to / "Jpeg");
    pngs(to / "Png");
    largerPng(to / "Png/large.png");
    tiffs(to / "Tiff");
    heics(to / "Heic", to / "Png");
    makeDng(to / "Raw/plain.dng", 32, 24, texture);
    makeDng(to / "Raw/turned.dng", 32, 24, texture, 6);
    return 0;
}
