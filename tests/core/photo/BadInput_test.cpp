// SPDX-License-Identifier: GPL-3.0-or-later
// Each kind of bad file: one sentence that names it, or a sound picture; never a crash or a gigabyte.
#include <sys/resource.h>

#include <catch2/catch.hpp>

#include "MakePhotographs.h"
#include "MakePng.h"
#include "MakeTiffs.h"
#include "TemporaryFolder.h"
#include "core/photo/Decode.h"
#include "core/photo/Exif.h"

using namespace trammel;
using namespace trammel::photo;
using namespace trammel::test;

namespace {

std::string sentence(const std::filesystem::path& file) {
    const Result<Image> image = decode(file);
    REQUIRE_FALSE(image);
    const std::string s = image.error().sentence();
    CHECK(s.find(file.filename().string()) != std::string::npos);
    CHECK(s.back() == '.');
    return s;
}

bool contains(const std::string& s, const char* part) { return s.find(part) != std::string::npos; }

long peakMemory_kB() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return usage.ru_maxrss;
}

}  // namespace

TEST_CASE("a picture without pixels is refused") {
    TemporaryFolder folder;
    makeJpeg(folder / "a.jpg", 32, 32, 3, texture);
    putBytes(folder / "zero.jpg", withClaimedSize(bytesOf(folder / "a.jpg"), 0, 0));
    CHECK(contains(sentence(folder / "zero.jpg"), "holds no picture"));
    makePng(folder / "a.png", 16, 16, 8, PNG_COLOR_TYPE_RGB, false, texture);
    std::string png = bytesOf(folder / "a.png");
    png.replace(16, 8, std::string(8, '\0'));
    putBytes(folder / "zero.png", png);
    CHECK(contains(sentence(folder / "zero.png"), "damaged"));
}

TEST_CASE("a line of 1 by 60 000 pixels is a picture like any other") {
    TemporaryFolder folder;
    makeJpeg(folder / "line.jpg", 1, 60000, 1, texture);
    makePng(folder / "line.png", 60000, 1, 8, PNG_COLOR_TYPE_GRAY, false, texture);
    TiffKind k;
    k.width = 1, k.height = 60000, k.samples = 1, k.photometric = PHOTOMETRIC_MINISBLACK;
    makeTiff(folder / "line.tif", k, texture);
    CHECK(decode(folder / "line.jpg")->height == 60000);
    CHECK(decode(folder / "line.jpg", 8)->width == 1);
    CHECK(decode(folder / "line.png")->width == 60000);
    CHECK(decode(folder / "line.png", 4)->height == 1);
    CHECK(decode(folder / "line.tif")->height == 60000);
}

TEST_CASE("gigapixel claims are refused by size and take no memory") {
    TemporaryFolder folder;
    makeJpeg(folder / "a.jpg", 32, 32, 3, texture);
    putBytes(folder / "giga.jpg", withClaimedSize(bytesOf(folder / "a.jpg"), 40000, 30000));
    const long before = peakMemory_kB();
    CHECK(contains(sentence(folder / "giga.jpg"), "claims 40000 × 30000 px, more than the 256 megapixels"));
    CHECK(peakMemory_kB() - before < 20000);
}

TEST_CASE("directories of EXIF that point at themselves end") {
    TemporaryFolder folder;
    const std::string good = ExifBytes().whole(0x0112, 6).ratio(0x920A, 200, 1).bytes();
    // The last four bytes of the first directory say where the next is; 0x8769 points at the second.
    for (int kind = 0; kind < 2; ++kind) {
        std::string exif = good;
        const std::size_t tiff = 6;
        if (kind == 0)
            exif.replace(tiff + 8 + 2 + 2 * 12, 4, std::string("\x08\0\0\0", 4));  // next: itself
        else
            exif.replace(tiff + 8 + 2 + 12 + 8, 4, std::string("\x08\0\0\0", 4));  // EXIF: the first
        makeJpeg(folder / "loop.jpg", 64, 32, 3, texture, exif);
        const Result<Image> image = decode(folder / "loop.jpg");
        REQUIRE(image);
        CHECK(image->width == 32);  // orientation 6 was read all the same
    }
}

TEST_CASE("orientations that there are none of count as 1") {
    TemporaryFolder folder;
    for (const int o : {0, 9, 255, 65535}) {
        makeJpeg(folder / "a.jpg", 48, 32, 3, texture,
                 ExifBytes().whole(0x0112, static_cast<std::uint16_t>(o)).bytes());
        CHECK(decode(folder / "a.jpg")->width == 48);
        CHECK(readExif(folder / "a.jpg")->orientation == 1);
    }
}

TEST_CASE("a file is what it holds, not what it is called") {
    TemporaryFolder folder;
    makeJpeg(folder / "a.jpg", 48, 32, 3, texture);
    putBytes(folder / "really-a-jpeg.png", bytesOf(folder / "a.jpg"));
    CHECK(decode(folder / "really-a-jpeg.png")->width == 48);
    makeTiff(folder / "a.tif", TiffKind{}, texture);
    putBytes(folder / "really-a-tiff.jpg", bytesOf(folder / "a.tif"));
    CHECK(decode(folder / "really-a-tiff.jpg")->width == 37);
    putBytes(folder / "letter.heic", "To whom it may concern: this is no photograph at all.");
    CHECK(contains(sentence(folder / "letter.heic"), "is no photograph of a kind that is read here"));
    putBytes(folder / "only-a-name.dng", std::string("II*\0\x08\0\0\0", 8));
    CHECK(contains(sentence(folder / "only-a-name.dng"), "damaged"));
    std::filesystem::create_directory(folder / "folder.jpg");
    CHECK(contains(sentence(folder / "folder.jpg"), "is a folder, not a photograph"));
    putBytes(folder / "empty.tif", "");
    CHECK(contains(sentence(folder / "empty.tif"), "the file is empty"));
}

TEST_CASE("the embedded small picture comes upright and without the bars that pad it") {
    TemporaryFolder folder;
    // A 3:2 photograph whose camera put a 4:3 thumbnail with black bars above and below, held upright.
    makeJpeg(folder / "small.jpg", 160, 120, 3, [](int x, int y, int) {
        return y < 7 || y >= 113 ? 0 : x < 80 ? 60 : 200;
    });
    const std::string small = bytesOf(folder / "small.jpg");
    makeJpeg(folder / "a.jpg", 300, 200, 3, texture,
             ExifBytes().whole(0x0112, 6).ratio(0x920A, 200, 1).thumbnail(small).bytes());
    const auto got = preview(folder / "a.jpg");
    REQUIRE(got);
    REQUIRE(*got);
    CHECK((*got)->width == 107);
    CHECK((*got)->height == 160);
    CHECK(std::abs(*(*got)->at(50, 20) - 60) < 6);  // the left of what is stored is above
    CHECK(std::abs(*(*got)->at(50, 140) - 200) < 6);
    makeJpeg(folder / "none.jpg", 300, 200, 3, texture);
    CHECK_FALSE(*preview(folder / "none.jpg"));
    CHECK_FALSE(preview(folder / "absent.jpg"));
}
