// SPDX-License-Identifier: GPL-3.0-or-later
// HEIC files made by libheif's own program (heif-enc) of pictures of ours.
#include "core/photo/HeicFile.h"

#include <libheif/heif.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <cstring>

#include "MakePhotographs.h"
#include "MakePng.h"
#include "TemporaryFolder.h"
#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/photo/Orientation.h"

using namespace trammel;
using namespace trammel::photo;
using namespace trammel::test;

namespace {

bool canEncode() {
    if (std::system("command -v heif-enc >/dev/null 2>&1") == 0) return true;
    WARN("skipped: heif-enc of the package libheif-examples is not installed");
    return false;
}

bool encode(const std::filesystem::path& from, const std::filesystem::path& to, const std::string& options) {
    const std::string command =
        "heif-enc " + options + " -o '" + to.string() + "' '" + from.string() + "' >/dev/null 2>&1";
    return std::system(command.c_str()) == 0 && std::filesystem::exists(to);
}

/// A picture whose four corners differ, smooth enough for any codec.
int scene(int x, int y, int c) {
    return static_cast<int>(115 + 60 * std::tanh((x - 40) / 3.0) + 40 * std::sin(y / 9.0 + c) + 0.3 * y);
}

/// A HEIC by libheif with turn and mirror boxes for this orientation, and EXIF that names one too.
bool makeHeic(const std::filesystem::path& file, const Image& image, int boxes, int exifSays) {
    heif_context* context = heif_context_alloc();
    heif_encoder* encoder = nullptr;
    bool good =
        heif_context_get_encoder_for_format(context, heif_compression_HEVC, &encoder).code == heif_error_Ok;
    if (good) {
        heif_encoder_set_lossy_quality(encoder, 98);
        heif_encoder_set_parameter(encoder, "chroma", "444");
        heif_image* picture = nullptr;
        heif_image_create(image.width, image.height, heif_colorspace_RGB, heif_chroma_interleaved_RGB,
                          &picture);
        heif_image_add_plane(picture, heif_channel_interleaved, image.width, image.height, 8);
        int stride = 0;
        std::uint8_t* plane = heif_image_get_plane(picture, heif_channel_interleaved, &stride);
        for (int y = 0; y < image.height; ++y)
            std::memcpy(plane + y * stride, image.at(0, y), static_cast<std::size_t>(image.width * 3));
        heif_encoding_options* options = heif_encoding_options_alloc();
        options->image_orientation = static_cast<heif_orientation>(boxes);
        heif_image_handle* handle = nullptr;
        good = heif_context_encode_image(context, picture, encoder, options, &handle).code == heif_error_Ok;
        const std::string exif = ExifBytes()
                                     .whole(0x0112, static_cast<std::uint16_t>(exifSays))
                                     .ratio(0x920A, 200, 1)
                                     .longer(0xA002, 96)
                                     .longer(0xA003, 64)
                                     .bytes()
                                     .substr(6);
        if (good) heif_context_add_exif_metadata(context, handle, exif.data(), static_cast<int>(exif.size()));
        good = good && heif_context_write_to_file(context, file.c_str()).code == heif_error_Ok;
        heif_image_handle_release(handle);
        heif_encoding_options_free(options);
        heif_image_release(picture);
        heif_encoder_release(encoder);
    }
    heif_context_free(context);
    return good;
}

double worstDifference(const Image& a, const Image& b) {
    double worst = 0.0;
    for (std::size_t i = 0; i < a.data.size(); ++i)
        worst = std::max(worst, std::abs(double(a.data[i]) - double(b.data[i])));
    return worst;
}

}  // namespace

TEST_CASE("a HEIC without loss holds the PNG that it was made of") {
    if (!canEncode()) return;
    TemporaryFolder folder;
    makePng(folder / "a.png", 96, 64, 8, PNG_COLOR_TYPE_RGB, false, scene);
    REQUIRE(encode(folder / "a.png", folder / "a.heic", "-L -p chroma=444 --matrix_coefficients=0"));
    const Result<Image> png = decode(folder / "a.png"), heic = decode(folder / "a.heic");
    INFO((heic ? std::string() : heic.error().sentence()));
    REQUIRE(heic);
    CHECK(heic->lossy);
    CHECK(heic->width == 96);
    CHECK(worstDifference(*png, *heic) <= 1.0);
    CHECK_FALSE(*preview(folder / "a.heic"));
    REQUIRE(encode(folder / "a.png", folder / "t.heic", "-q 90 -t 48"));
    const auto small = preview(folder / "t.heic");
    REQUIRE(small);
    REQUIRE(*small);
    CHECK((*small)->width == 48);
}

TEST_CASE("a HEIC of 10 bits keeps them for measuring") {
    if (!canEncode()) return;
    TemporaryFolder folder;
    const auto deep = [](int x, int y, int c) { return 20000 + 150 * x + 40 * y + 900 * c; };
    makePng(folder / "a.png", 96, 64, 16, PNG_COLOR_TYPE_RGB, false, deep);
    REQUIRE(encode(folder / "a.png", folder / "a.heic", "-q 100 -b 10 -p chroma=444"));
    const Result<Image> heic = decode(folder / "a.heic");
    INFO((heic ? std::string() : heic.error().sentence()));
    REQUIRE(heic);
    REQUIRE(heic->isDeep());
    CHECK(heic->codeStep == Approx(255.0 / 1023.0));
    double worst = 0.0;
    for (int y = 0; y < 64; ++y)
        for (int x = 0; x < 96; ++x)
            for (int c = 0; c < 3; ++c)
                worst = std::max(worst, std::abs(double(heic->deepAt(x, y)[c]) - deep(x, y, c)));
    CHECK(worst < 2.5 * 65535 / 1023);
}

TEST_CASE("a HEIC is turned by its own boxes, once, whatever its EXIF says too") {
    TemporaryFolder folder;
    const auto file = folder / "o.heic";
    Image stored{96, 64, 3, {}};
    for (int y = 0; y < 64; ++y)
        for (int x = 0; x < 96; ++x)
            for (int c = 0; c < 3; ++c) stored.data.push_back(static_cast<std::uint8_t>(scene(x, y, c)));
    for (const int boxes : {1, 3, 6, 8, 2})
        for (const int exifSays : {boxes, 1, 6, 5}) {
            INFO("boxes " << boxes << " EXIF " << exifSays);
            if (!makeHeic(file, stored, boxes, exifSays)) {
                WARN("skipped: libheif has no encoder here");
                return;
            }
            const Image wanted = upright(stored, boxes);
            const Result<Image> got = decode(file);
            REQUIRE(got);
            REQUIRE(got->width == wanted.width);
            CHECK(worstDifference(wanted, *got) < 8.0);
            const Result<Exif> exif = readExif(file);
            REQUIRE(exif);
            CHECK(exif->focalLength_mm == 200.0);
            if (exifSays == boxes) CHECK(exif->orientation == boxes);
            const Result<StoredSize> size = storedSize(file);
            REQUIRE(size);
            const bool swaps = swapsSides(exif->orientation);
            CHECK((swaps ? size->height : size->width) == got->width);
            const Result<Image> small = decode(file, 8);
            REQUIRE(small);
            CHECK(small->width == got->width / 8);
        }
}

TEST_CASE("cut and damaged HEIC files are refused or read, and never crash") {
    if (!canEncode()) return;
    TemporaryFolder folder;
    makePng(folder / "a.png", 96, 64, 8, PNG_COLOR_TYPE_RGB, false, scene);
    REQUIRE(encode(folder / "a.png", folder / "a.heic", "-q 80"));
    const std::string whole = bytesOf(folder / "a.heic");
    int accepted = 0;
    for (std::size_t n = 1; n < whole.size(); n += 1 + whole.size() / 60) {
        putBytes(folder / "cut.heic", whole.substr(0, n));
        accepted += static_cast<bool>(decode(folder / "cut.heic"));
    }
    CHECK(accepted == 0);
    // A claim of 30000 × 30000 in the box that states the size.
    std::string giga = whole;
    const std::size_t at = giga.find("ispe");
    REQUIRE(at != std::string::npos);
    giga.replace(at + 8, 8, std::string("\0\0\x75\x30\0\0\x75\x30", 8));
    putBytes(folder / "giga.heic", giga);
    const Result<Image> image = decode(folder / "giga.heic");
    REQUIRE_FALSE(image);
    CHECK(image.error().sentence().find("claims 30000 × 30000 px, more than the 256") != std::string::npos);
}
