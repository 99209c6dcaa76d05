// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/Decode.h"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <random>

#include "MakePhotographs.h"
#include "MakePng.h"
#include "TemporaryFolder.h"
#include "core/photo/Orientation.h"

using namespace trammel;
using namespace trammel::photo;
using namespace trammel::test;

namespace {

std::string sentenceOf(const std::filesystem::path& file, ErrorCode code) {
    const Result<Image> image = decode(file);
    REQUIRE_FALSE(image);
    CHECK(image.error().code == code);
    const std::string s = image.error().sentence();
    CHECK(s.find(file.filename().string()) != std::string::npos);
    return s;
}

bool contains(const std::string& s, const char* part) { return s.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("a JPEG is decoded whole and shrunk") {
    TemporaryFolder folder;
    const auto file = folder / "a.jpg";
    const auto smooth = [](int x, int y, int c) { return c == 0 ? x : c == 1 ? y : 200; };
    for (const bool progressive : {false, true}) {
        makeJpeg(file, 250, 131, 3, smooth, "", progressive);
        const Result<StoredSize> size = storedSize(file);
        REQUIRE(size);
        CHECK(size->width == 250);
        CHECK(size->height == 131);
        for (const int shrink : {1, 2, 4, 8}) {
            const Result<Image> image = decode(file, shrink);
            REQUIRE(image);
            CHECK(image->width == (250 + shrink - 1) / shrink);
            CHECK(image->height == (131 + shrink - 1) / shrink);
            CHECK(image->channels == 3);
            REQUIRE(image->data.size() == static_cast<std::size_t>(image->width * image->height * 3));
            for (const int x : {20, 100, 200})
                for (const int y : {10, 60, 110}) {
                    const std::uint8_t* p = image->at(x / shrink, y / shrink);
                    CHECK(std::abs(p[0] - x) <= 6 + shrink);
                    CHECK(std::abs(p[1] - y) <= 6 + shrink);
                    CHECK(std::abs(p[2] - 200) <= 6);
                }
        }
    }
    CHECK_FALSE(decode(file, 3));
}

TEST_CASE("a grey JPEG stays grey, a CMYK one is refused") {
    TemporaryFolder folder;
    makeJpeg(folder / "grey.jpg", 40, 30, 1, [](int, int, int) { return 77; });
    const Result<Image> grey = decode(folder / "grey.jpg");
    REQUIRE(grey);
    CHECK(grey->channels == 1);
    CHECK(*grey->at(20, 20) == 77);
    makeJpeg(folder / "cmyk.jpg", 40, 30, 4, texture);
    CHECK(contains(sentenceOf(folder / "cmyk.jpg", ErrorCode::Refused),
                   "is a CMYK picture, made for printing; export it as RGB."));
}

TEST_CASE("orientations 1 to 8 follow the table of CIPA DC-008") {
    // The standard says where the stored picture's row 0 and column 0 belong when the scene stands upright.
    const struct {
        int orientation;
        const char *row0, *column0;
    } table[] = {{1, "top", "left"}, {2, "top", "right"}, {3, "bottom", "right"}, {4, "bottom", "left"},
                 {5, "left", "top"}, {6, "right", "top"}, {7, "right", "bottom"}, {8, "left", "bottom"}};
    Image stored{5, 3, 1, std::vector<std::uint8_t>(15, 0)};
    stored.codeStep = 0.5f;
    for (int x = 0; x < 5; ++x) stored.data[static_cast<std::size_t>(x)] |= 1;      // row 0
    for (int y = 0; y < 3; ++y) stored.data[static_cast<std::size_t>(y * 5)] |= 2;  // column 0
    for (const std::uint8_t code : stored.data) stored.deep.push_back(static_cast<std::uint16_t>(code * 257));
    TemporaryFolder folder;
    for (const auto& line : table) {
        const auto onSide = [](const std::string& side, int x, int y, int w, int h) {
            return side == "top"      ? y == 0
                   : side == "bottom" ? y == h - 1
                   : side == "left"   ? x == 0
                                      : x == w - 1;
        };
        const Image u = upright(stored, line.orientation);
        CHECK(u.width == (line.orientation >= 5 ? 3 : 5));
        CHECK(u.height == (line.orientation >= 5 ? 5 : 3));
        CHECK(u.codeStep == 0.5f);
        for (std::size_t i = 0; i < 15; ++i) CHECK(u.deep[i] == u.data[i] * 257);
        for (int y = 0; y < u.height; ++y)
            for (int x = 0; x < u.width; ++x)
                CHECK(*u.at(x, y) == (onSide(line.row0, x, y, u.width, u.height) ? 1 : 0) +
                                         (onSide(line.column0, x, y, u.width, u.height) ? 2 : 0));

        // The same through a file: row 0 is white for eight rows, column 0 is mid-grey.
        const auto file = folder / "o.jpg";
        makeJpeg(
            file, 48, 32, 3, [](int x, int y, int) { return y < 8   ? 255
                                                            : x < 8 ? 128
                                                                    : 0; },
            ExifBytes().whole(0x0112, static_cast<std::uint16_t>(line.orientation)).bytes());
        for (const int shrink : {1, 8}) {
            const Result<Image> image = decode(file, shrink);
            REQUIRE(image);
            const int w = image->width, h = image->height;
            CHECK(w * shrink == (line.orientation >= 5 ? 32 : 48));
            const auto middleOf = [&](const std::string& side) {
                const int x = side == "left" ? 0 : side == "right" ? w - 1 : w / 2;
                const int y = side == "top" ? 0 : side == "bottom" ? h - 1 : h / 2;
                return static_cast<int>(*image->at(x, y));
            };
            CHECK(middleOf(line.row0) > 250);
            CHECK(std::abs(middleOf(line.column0) - 128) < 10);
            CHECK(static_cast<int>(*image->at(w / 2, h / 2)) < 10);
        }
        const Result<StoredSize> size = storedSize(file);
        REQUIRE(size);
        CHECK(size->width == 48);  // as stored, whatever the orientation
    }
    CHECK(isMirrored(5));
    CHECK_FALSE(isMirrored(6));
}

TEST_CASE("PNG of 8 and 16 bits, grey, colour, with transparency ignored") {
    TemporaryFolder folder;
    const auto file = folder / "a.png";
    for (const int depth : {8, 16}) {
        const auto sample = [depth](int x, int y, int c) {
            return (x * 2309 + y * 1285 + c * 15420) % (depth == 16 ? 65536 : 256);
        };
        for (const int type :
             {PNG_COLOR_TYPE_GRAY, PNG_COLOR_TYPE_RGB, PNG_COLOR_TYPE_RGB_ALPHA, PNG_COLOR_TYPE_GRAY_ALPHA})
            for (const bool interlaced : {false, true}) {
                makePng(file, 23, 17, depth, type, interlaced, sample);
                const Result<Image> image = decode(file);
                REQUIRE(image);
                CHECK(image->isDeep() == (depth == 16));
                CHECK(image->channels == (type & PNG_COLOR_MASK_COLOR ? 3 : 1));
                int wrong = 0;
                for (int y = 0; y < 17; ++y)
                    for (int x = 0; x < 23; ++x)
                        for (int c = 0; c < image->channels; ++c)
                            wrong += depth == 16 ? image->deepAt(x, y)[c] != sample(x, y, c)
                                                 : image->at(x, y)[c] != sample(x, y, c);
                CHECK(wrong == 0);
            }
    }
    const Result<Image> half = decode(file, 2);
    REQUIRE(half);
    CHECK(half->width == 12);
    CHECK(half->height == 9);
}

TEST_CASE("a PNG is shrunk by averaging light") {
    TemporaryFolder folder;
    makePng(folder / "a.png", 8, 8, 8, PNG_COLOR_TYPE_GRAY, false,
            [](int x, int, int) { return x % 2 ? 255 : 0; });
    const Result<Image> image = decode(folder / "a.png", 4);
    REQUIRE(image);
    CHECK(*image->at(1, 1) == 188);  // half the light is code 188 on the curve of IEC 61966-2-1, not 128
}

TEST_CASE("files that are missing, empty, no picture or cut short get one sentence") {
    TemporaryFolder folder;
    CHECK(contains(sentenceOf(folder / "no.jpg", ErrorCode::FileMissing), "cannot be opened (No such file"));
    CHECK(contains(decode(folder.path()).error().sentence(), "is a folder, not a photograph"));
    putBytes(folder / "empty.jpg", "");
    CHECK(contains(sentenceOf(folder / "empty.jpg", ErrorCode::FileDamaged), "the file is empty"));
    putBytes(folder / "text.jpg", "This is a letter, not a photograph.\n");
    CHECK(contains(sentenceOf(folder / "text.jpg", ErrorCode::FileDamaged),
                   "is no photograph of a kind that is read here; choose a JPEG, PNG, TIFF, HEIC"));
    CHECK_FALSE(storedSize(folder / "text.jpg"));

    makeJpeg(folder / "whole.jpg", 64, 48, 3, texture);
    makeJpeg(folder / "slow.jpg", 64, 48, 3, texture, "", true);
    makePng(folder / "whole.png", 40, 30, 8, PNG_COLOR_TYPE_RGB, false, texture);
    int accepted = 0, truncated = 0;
    for (const char* name : {"whole.jpg", "slow.jpg", "whole.png"}) {
        const std::string bytes = bytesOf(folder / name);
        REQUIRE(decode(folder / name));
        for (std::size_t n = 1; n < bytes.size(); n += 1 + bytes.size() / 300) {
            putBytes(folder / "cut", bytes.substr(0, n));
            for (const int shrink : {1, 8}) {
                const Result<Image> image = decode(folder / "cut", shrink);
                accepted += static_cast<bool>(image);
                if (!image)
                    truncated +=
                        contains(image.error().sentence(), "truncated; copy it from the camera again.");
            }
        }
        putBytes(folder / "cut", bytes.substr(0, bytes.size() - 1));
        CHECK_FALSE(decode(folder / "cut"));
    }
    CHECK(accepted == 0);
    CHECK(truncated > 500);
}

TEST_CASE("headers that lie are refused before memory is taken") {
    TemporaryFolder folder;
    makeJpeg(folder / "a.jpg", 64, 48, 3, texture);
    const std::string bytes = bytesOf(folder / "a.jpg");
    putBytes(folder / "giga.jpg", withClaimedSize(bytes, 65000, 64000));
    CHECK(contains(sentenceOf(folder / "giga.jpg", ErrorCode::Refused),
                   "claims 65000 × 64000 px, more than the 256"));
    putBytes(folder / "big.jpg", withClaimedSize(bytes, 12000, 9000));
    CHECK(contains(sentenceOf(folder / "big.jpg", ErrorCode::FileDamaged),
                   "claims 12000 × 9000 px, but the file holds only"));
    putBytes(folder / "taller.jpg", withClaimedSize(bytes, 64, 96));
    CHECK_FALSE(decode(folder / "taller.jpg"));

    makePng(folder / "a.png", 16, 16, 8, PNG_COLOR_TYPE_RGB, false, texture);
    std::string png = bytesOf(folder / "a.png");
    png.replace(16, 8, std::string("\x00\x00\x20\x00\x00\x00\x20\x00", 8));  // 8192 × 8192
    putBytes(folder / "big.png", png);
    CHECK(contains(sentenceOf(folder / "big.png", ErrorCode::FileDamaged), "claims 8192 × 8192 px, but"));
    png.replace(16, 8, std::string("\x00\x01\x00\x00\x00\x01\x00\x00", 8));
    putBytes(folder / "giga.png", png);
    CHECK(contains(sentenceOf(folder / "giga.png", ErrorCode::Refused), "65536 × 65536"));
}

TEST_CASE("random damage never crashes") {
    TemporaryFolder folder;
    makeJpeg(folder / "a.jpg", 48, 40, 3, texture,
             ExifBytes().whole(0x0112, 6).ratio(0x920A, 200, 1).bytes());
    makeJpeg(folder / "b.jpg", 48, 40, 3, texture, "", true);
    makePng(folder / "c.png", 24, 20, 16, PNG_COLOR_TYPE_RGB_ALPHA, true, texture);
    std::mt19937 random(7);
    int refused = 0;
    for (const char* name : {"a.jpg", "b.jpg", "c.png"}) {
        const std::string whole = bytesOf(folder / name);
        for (int i = 0; i < 300; ++i) {
            std::string bytes = whole;
            for (int k = 0; k < 3; ++k)
                bytes[random() % (i % 2 ? bytes.size() : 200)] = static_cast<char>(random());
            putBytes(folder / "x", bytes);
            const Result<Image> image = decode(folder / "x", i % 3 ? 1 : 8);
            if (!image) ++refused;
            if (image)
                CHECK(image->data.size() == static_cast<std::size_t>(image->width) *
                                                static_cast<std::size_t>(image->height * image->channels));
        }
    }
    CHECK(refused > 100);
}

TEST_CASE("the content hash is SHA-256") {
    // NIST FIPS 180-4 example "abc"; the empty message from NIST's example values.
    TemporaryFolder folder;
    putBytes(folder / "abc", "abc");
    putBytes(folder / "empty", "");
    CHECK(*contentHash(folder / "abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(*contentHash(folder / "empty") ==
          "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    CHECK_FALSE(contentHash(folder / "none"));
    putBytes(folder / "long", std::string(1000000, 'a'));  // FIPS 180 example: one million "a"
    CHECK(*contentHash(folder / "long") ==
          "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST_CASE("luminance undoes the curve of IEC 61966-2-1 with the weights of Rec. 709") {
    Image image{4, 1, 3, {0, 0, 0, 255, 255, 255, 255, 0, 0, 10, 128, 188}};
    const LinearImage l = linearLuminance(image);
    CHECK(l.at(0, 0) == 0.0f);
    CHECK(l.at(1, 0) == Approx(1.0f));
    CHECK(l.at(2, 0) == Approx(0.2126f));
    const auto f = [](double v) { return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4); };
    CHECK(l.at(3, 0) == Approx(0.2126 * f(10 / 255.0) + 0.7152 * f(128 / 255.0) + 0.0722 * f(188 / 255.0)));
    Image grey{1, 1, 1, {128}};
    CHECK(linearLuminance(grey).at(0, 0) == Approx(0.215861f).epsilon(1e-4));
    Image deep{1, 1, 3, {}};
    deep.deep = {1000, 32896, 50001};
    roundForTheEye(deep);
    CHECK(deep.data == std::vector<std::uint8_t>{4, 128, 195});  // 3.89, 128.0, 194.56
    CHECK(linearLuminance(deep).at(0, 0) ==
          Approx(0.2126 * f(1000 / 65535.0) + 0.7152 * f(32896 / 65535.0) + 0.0722 * f(50001 / 65535.0)));
}
