// SPDX-License-Identifier: GPL-3.0-or-later
// TIFF files written by libtiff, and raw files beside Debian's own decoder (libraw-bin).
#include "core/photo/TiffFile.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <fstream>

#include "MakePhotographs.h"
#include "MakeTiffs.h"
#include "TemporaryFolder.h"
#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/photo/Orientation.h"

using namespace trammel;
using namespace trammel::photo;
using namespace trammel::test;

namespace {

int sample16(int x, int y, int c) { return (x * 1733 + y * 911 + c * 21001) % 65536; }

std::string refusal(const std::filesystem::path& file) {
    const Result<Image> image = decode(file);
    REQUIRE_FALSE(image);
    return image.error().sentence();
}

bool contains(const std::string& s, const std::string& part) { return s.find(part) != std::string::npos; }

/// Samples of a binary PPM or PGM of 16 bits, as LibRaw's own program writes it.
std::vector<std::uint16_t> samplesOfPpm(const std::filesystem::path& file, int& width, int& height) {
    std::ifstream in(file, std::ios::binary);
    std::string magic;
    int most = 0;
    in >> magic >> width >> height >> most;
    in.get();
    std::vector<std::uint16_t> out;
    for (int a = in.get(), b = in.get(); in; a = in.get(), b = in.get())
        out.push_back(static_cast<std::uint16_t>(a << 8 | b));
    return out;
}

}  // namespace

TEST_CASE("TIFF of 8 and 16 bits, grey and RGB, strips and tiles, every common compression: exact") {
    TemporaryFolder folder;
    const auto file = folder / "a.tif";
    int kinds = 0;
    for (const int bits : {8, 16})
        for (const int samples : {1, 2, 3, 4})
            for (const bool tiled : {false, true})
                for (const int planar : {PLANARCONFIG_CONTIG, PLANARCONFIG_SEPARATE})
                    for (const int compression : {COMPRESSION_NONE, COMPRESSION_LZW,
                                                  COMPRESSION_ADOBE_DEFLATE, COMPRESSION_PACKBITS}) {
                        TiffKind k;
                        k.bits = bits, k.samples = samples, k.tiled = tiled;
                        k.planar = static_cast<std::uint16_t>(planar);
                        k.compression = static_cast<std::uint16_t>(compression);
                        if (samples < 3) k.photometric = PHOTOMETRIC_MINISBLACK;
                        const auto sample = [bits](int x, int y, int c) {
                            return bits == 16 ? sample16(x, y, c) : sample16(x, y, c) % 256;
                        };
                        makeTiff(file, k, sample);
                        const Result<Image> image = decode(file);
                        INFO(bits << " bits " << samples << " samples tiled " << tiled << " planar " << planar
                                  << " compression " << compression);
                        INFO((image ? std::string() : image.error().sentence()));
                        REQUIRE(image);
                        REQUIRE(image->channels == (samples < 3 ? 1 : 3));
                        REQUIRE(image->isDeep() == (bits == 16));
                        int wrong = 0;
                        for (int y = 0; y < k.height; ++y)
                            for (int x = 0; x < k.width; ++x)
                                for (int c = 0; c < image->channels; ++c)
                                    wrong += (bits == 16 ? image->deepAt(x, y)[c] : image->at(x, y)[c]) !=
                                             sample(x, y, c);
                        CHECK(wrong == 0);
                        ++kinds;
                    }
    CHECK(kinds == 128);
}

TEST_CASE("TIFF: white as zero, palettes, JPEG inside, orientation") {
    TemporaryFolder folder;
    const auto file = folder / "a.tif";
    const auto grey = [](int x, int y, int) { return (x * 5 + y) % 256; };
    TiffKind k;
    k.samples = 1, k.photometric = PHOTOMETRIC_MINISWHITE;
    makeTiff(file, k, grey);
    CHECK(*decode(file)->at(7, 3) == 255 - grey(7, 3, 0));
    k.photometric = PHOTOMETRIC_PALETTE;
    makeTiff(file, k, grey);
    CHECK(decode(file)->at(7, 3)[1] == grey(7, 3, 0));
    TiffKind jpeg;
    jpeg.compression = COMPRESSION_JPEG;
    makeTiff(file, jpeg, [](int x, int, int c) { return 40 + 3 * x + 20 * c; });
    const Result<Image> lossy = decode(file);
    REQUIRE(lossy);
    CHECK(lossy->lossy);
    CHECK(std::abs(lossy->at(10, 10)[2] - 110) < 5);
    for (int o = 1; o <= 8; ++o) {
        TiffKind turned;
        turned.orientation = o;
        makeTiff(file, turned, texture);
        TiffKind plain;
        makeTiff(folder / "plain.tif", plain, texture);
        const Result<Image> image = decode(file);
        REQUIRE(image);
        CHECK(image->data == upright(*decode(folder / "plain.tif"), o).data);
        CHECK(readExif(file)->orientation == o);
    }
}

TEST_CASE("TIFF of other kinds is refused by name; cut and lying ones too") {
    TemporaryFolder folder;
    const auto file = folder / "a.tif";
    TiffKind k;
    k.samples = 4, k.photometric = PHOTOMETRIC_SEPARATED;
    makeTiff(file, k, texture);
    CHECK(contains(refusal(file), "is a CMYK picture, made for printing; export it as RGB."));
    TiffKind real;
    real.bits = 32, real.format = SAMPLEFORMAT_IEEEFP;
    makeTiff(file, real, texture);
    CHECK(contains(refusal(file), "floating-point or signed samples; export it with 8 or 16 bits."));
    TiffKind wide;
    wide.bits = 32;
    makeTiff(file, wide, texture);
    CHECK(contains(refusal(file), "32 bits, 3 samples a pixel"));

    makeTiff(file, TiffKind{}, texture);
    const std::string bytes = bytesOf(file);
    REQUIRE(decode(file));
    int accepted = 0;
    for (std::size_t n = 1; n < bytes.size(); n += 1 + bytes.size() / 200) {
        putBytes(folder / "cut.tif", bytes.substr(0, n));
        accepted += static_cast<bool>(decode(folder / "cut.tif"));
    }
    CHECK(accepted == 0);

    // The claim of a gigapixel: the width's entry is tag 256 of the directory.
    std::string giga = bytes;
    for (std::size_t i = 4; i + 12 < giga.size(); ++i)
        if (giga.compare(i, 8, std::string("\0\1\3\0\1\0\0\0", 8)) == 0 ||
            giga.compare(i, 8, std::string("\1\1\3\0\1\0\0\0", 8)) == 0)
            giga.replace(i + 8, 4, std::string("\x60\xea\0\0", 4));  // 60000
    putBytes(folder / "giga.tif", giga);
    CHECK(contains(refusal(folder / "giga.tif"), "claims 60000 × 60000 px, more than the 256"));
}

TEST_CASE("a raw file's light is that of LibRaw's own program, turned once") {
    TemporaryFolder folder;
    // A slanted edge with some texture, as the mosaic sees it.
    const auto scene = [](int x, int y, int) {
        return 6000 + 30000 / (1 + static_cast<int>(std::exp((x - 40 + 0.2 * y) / 1.5))) +
               (x * 31 + y * 17) % 500;
    };
    for (const int orientation : {1, 6, 3}) {
        const auto file = folder / "a.dng";
        makeDng(file, 96, 64, scene, orientation);
        CHECK(*formatOf(file) == FileFormat::Raw);
        const Result<StoredSize> size = storedSize(file);
        REQUIRE(size);
        CHECK(size->width == 96);
        const Result<Exif> exif = readExif(file);
        REQUIRE(exif);
        CHECK(exif->orientation == orientation);
        CHECK(exif->model.find("Example One") != std::string::npos);
        const Result<Image> image = decode(file);
        INFO((image ? std::string() : image.error().sentence()));
        REQUIRE(image);
        REQUIRE(image->isDeep());
        CHECK(image->width == (orientation == 6 ? 64 : 96));
        const Result<Image> half = decode(file, 2);
        REQUIRE(half);
        CHECK(half->width == (orientation == 6 ? 32 : 48));
        if (std::system("command -v dcraw_emu >/dev/null 2>&1") != 0) {
            WARN("skipped: dcraw_emu of the package libraw-bin is not installed");
            return;
        }
        // Linear, 16 bits, white balance as shot, no stretch to the brightest, sRGB primaries, its own turn.
        const std::string command = "dcraw_emu -4 -c 0 -w -o 1 '" + file.string() + "' >/dev/null 2>&1";
        REQUIRE(std::system(command.c_str()) == 0);
        int w = 0, h = 0;
        const auto theirs = samplesOfPpm(file.string() + ".ppm", w, h);
        REQUIRE(w == image->width);
        REQUIRE(h == image->height);
        REQUIRE(theirs.size() == image->deep.size());
        int worst = 0;
        for (std::size_t i = 0; i < theirs.size(); ++i) {
            const double l = theirs[i] / 65535.0;
            const double code = l <= 0.0031308 ? 12.92 * l : 1.055 * std::pow(l, 1 / 2.4) - 0.055;
            worst = std::max(worst, std::abs(image->deep[i] - static_cast<int>(std::lround(65535 * code))));
        }
        CHECK(worst == 0);
    }
}

TEST_CASE("a raw file whose mosaic is cut is refused; others never crash") {
    TemporaryFolder folder;
    makeDng(folder / "a.dng", 48, 32, sample16);
    std::string whole = bytesOf(folder / "a.dng");
    // As cameras do it, the mosaic comes last: libtiff wrote it first, at byte 8 (tag 273, one number).
    const std::string mosaic = whole.substr(8, 48 * 32 * 2);
    const std::size_t entry = whole.find(std::string("\x11\x01", 2), 8 + mosaic.size());
    REQUIRE(entry != std::string::npos);
    REQUIRE(whole.substr(entry + 8, 4) == std::string("\x08\0\0\0", 4));
    const std::size_t at = whole.size();
    whole.replace(entry + 8, 2, {static_cast<char>(at & 0xff), static_cast<char>(at >> 8)});
    whole += mosaic;
    putBytes(folder / "a.dng", whole);
    REQUIRE(decode(folder / "a.dng"));
    int accepted = 0;
    for (std::size_t n = 1; n < whole.size(); n += 1 + whole.size() / 60) {
        putBytes(folder / "cut.dng", whole.substr(0, n));
        accepted += static_cast<bool>(decode(folder / "cut.dng"));
    }
    putBytes(folder / "cut.dng", whole.substr(0, whole.size() - 1));
    accepted += static_cast<bool>(decode(folder / "cut.dng"));
    CHECK(accepted == 0);
}
