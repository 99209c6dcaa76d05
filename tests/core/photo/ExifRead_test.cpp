// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cstdlib>

#include "MakePhotographs.h"
#include "TemporaryFolder.h"
#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/photo/PrincipalDistance.h"

using namespace trammel;
using namespace trammel::photo;
using namespace trammel::test;

namespace {

// Tag numbers of CIPA DC-008.
constexpr std::uint16_t kMake = 0x010F, kModel = 0x0110, kOrientation = 0x0112, kFNumber = 0x829D,
                        kSubjectDistance = 0x9206, kFocalLength = 0x920A, kPixelX = 0xA002, kPixelY = 0xA003,
                        kPlaneX = 0xA20E, kPlaneUnit = 0xA210, kZoom = 0xA404, kFilm35 = 0xA405,
                        kSerial = 0xA431, kLensMake = 0xA433, kLensModel = 0xA434, kTaken = 0x9003;

Exif read(const ExifBytes& tags) {
    TemporaryFolder folder;
    makeJpeg(folder / "a.jpg", 16, 16, 3, texture, tags.bytes());
    const Result<Exif> e = readExif(folder / "a.jpg");
    REQUIRE(e);
    return *e;
}

}  // namespace

TEST_CASE("every tag we use is read from hand-laid EXIF bytes") {
    const Exif e = read(ExifBytes()
                            .text(kMake, "Own Invention  ")
                            .text(kModel, "Model 1")
                            .whole(kOrientation, 8)
                            .ratio(kFNumber, 80, 10)
                            .text(kTaken, "2024:05:06 07:08:09")
                            .ratio(kSubjectDistance, 503, 100)
                            .ratio(kFocalLength, 200, 1)
                            .longer(kPixelX, 6000)
                            .longer(kPixelY, 4000)
                            .ratio(kPlaneX, 68256, 10)
                            .whole(kPlaneUnit, 2)
                            .ratio(kZoom, 3, 2)
                            .whole(kFilm35, 300)
                            .text(kSerial, "0042")
                            .text(kLensMake, "Own Lens")
                            .text(kLensModel, "200 mm"));
    CHECK(e.make == "Own Invention");
    CHECK(e.model == "Model 1");
    CHECK(e.orientation == 8);
    CHECK(e.fNumber == 8.0);
    CHECK(e.dateTimeOriginal == "2024:05:06 07:08:09");
    CHECK(e.subjectDistance_m == 5.03);
    CHECK(e.focalLength_mm == 200.0);
    CHECK(e.pixelWidth == 6000);
    CHECK(e.pixelHeight == 4000);
    CHECK(*e.focalPlaneResolution_per_mm == Approx(6825.6 / 25.4));
    CHECK(e.digitalZoom == 1.5);
    CHECK(e.focalLength35_mm == 300.0);
    CHECK(e.bodySerial == "0042");
    CHECK(e.lensMake == "Own Lens");
    CHECK(e.lensModel == "200 mm");
}

TEST_CASE("tags that are absent or mean nothing stay empty") {
    const Exif none = read(ExifBytes().text(kModel, "x"));
    CHECK(none.orientation == 1);
    CHECK_FALSE(none.focalLength_mm);
    CHECK_FALSE(none.focalPlaneResolution_per_mm);
    CHECK_FALSE(none.pixelWidth);
    const Exif odd = read(ExifBytes()
                              .whole(kOrientation, 9)
                              .ratio(kFocalLength, 0, 1)
                              .ratio(kSubjectDistance, 0xFFFFFFFFu, 1)
                              .ratio(kZoom, 0, 1)
                              .whole(kFilm35, 0)
                              .ratio(kFNumber, 1, 0)
                              .ratio(kPlaneX, 72, 1));
    CHECK(odd.orientation == 1);
    CHECK_FALSE(odd.focalLength_mm);
    CHECK_FALSE(odd.subjectDistance_m);
    CHECK_FALSE(odd.digitalZoom);
    CHECK_FALSE(odd.focalLength35_mm);
    CHECK_FALSE(odd.fNumber);
    CHECK_FALSE(odd.focalPlaneResolution_per_mm);  // 72 px per inch is a print resolution, not a sensor's
}

TEST_CASE("the focal-plane resolution unit is inch by default, and the wild ones are understood") {
    const auto perMm = [](std::uint32_t n, std::uint32_t d, int unit) {
        ExifBytes tags;
        tags.ratio(kPlaneX, n, d);
        if (unit) tags.whole(kPlaneUnit, static_cast<std::uint16_t>(unit));
        return read(tags).focalPlaneResolution_per_mm;
    };
    CHECK(*perMm(6350, 1, 0) == Approx(250.0));
    CHECK(*perMm(6350, 1, 2) == Approx(250.0));
    CHECK(*perMm(2500, 1, 3) == Approx(250.0));
    CHECK(*perMm(250, 1, 4) == Approx(250.0));
    CHECK(*perMm(1, 4, 5) == Approx(250.0));
    CHECK_FALSE(perMm(6350, 1, 1));
    CHECK_FALSE(perMm(6350, 1, 9));
    CHECK(*perMm(4294967295u, 676418u, 2) == Approx(4294967295.0 / 676418.0 / 25.4).epsilon(1e-12));
}

TEST_CASE("a file without EXIF is no error; one that is no photograph is") {
    TemporaryFolder folder;
    makeJpeg(folder / "plain.jpg", 16, 16, 3, texture);
    const Result<Exif> plain = readExif(folder / "plain.jpg");
    REQUIRE(plain);
    CHECK(plain->model.empty());
    putBytes(folder / "text.jpg", "no photograph");
    putBytes(folder / "empty.jpg", "");
    CHECK(readExif(folder / "text.jpg").error().code == ErrorCode::FileDamaged);
    CHECK(readExif(folder / "empty.jpg").error().code == ErrorCode::FileDamaged);
    CHECK(readExif(folder / "none.jpg").error().code == ErrorCode::FileMissing);
    CHECK(readExif(folder.path()).error().code == ErrorCode::FileMissing);
}

TEST_CASE("principal distance from focal length and focal-plane resolution") {
    // Worked from the formula of CIPA DC-008: 200 mm, 6825.6 px per inch: pitch 3.7213 µm, 53745 px.
    Exif e;
    e.focalLength_mm = 200.0;
    e.focalPlaneResolution_per_mm = 6825.6 / 25.4;
    auto prior = principalDistancePrior(e, 6000, 4000);
    REQUIRE(prior);
    CHECK(prior->c_px == Approx(53745).margin(0.5));
    CHECK(prior->pitch_mm * 1000 == Approx(3.7213).margin(5e-5));
    CHECK(prior->source == "focal length and focal-plane resolution");
    e.pixelWidth = 6000, e.pixelHeight = 4000;
    CHECK(principalDistancePrior(e, 3000, 2000)->c_px == Approx(53745 / 2.0).margin(0.5));  // resized
    CHECK(principalDistancePrior(e, 3000, 3000)->c_px == Approx(53745).margin(0.5));        // cropped
    e.digitalZoom = 2.0;
    CHECK(principalDistancePrior(e, 6000, 4000)->c_px == Approx(2 * 53745).margin(1.0));
}

TEST_CASE("principal distance from the 35 mm equivalent") {
    // Worked for a 3264 × 1836 frame and 30 mm: 2720.0 by width, 2596.7 by the diagonal of 43.2666 mm.
    Exif e;
    e.focalLength35_mm = 30.0;
    CHECK(principalDistancePrior(e, 3264)->c_px == Approx(2720.0).margin(0.05));
    CHECK(principalDistancePrior(e, 3264, 1836)->c_px == Approx(2596.7).margin(0.05));
    CHECK(principalDistancePrior(e, 3264, 1836)->pitch_mm == 0.0);
    CHECK(principalDistancePrior(e, 1836, 3264)->c_px == Approx(2596.7).margin(0.05));  // portrait
    e.pixelWidth = 3264, e.pixelHeight = 1836;
    CHECK(principalDistancePrior(e, 1632, 918)->c_px == Approx(2596.7 / 2).margin(0.05));
    CHECK(principalDistancePrior(e, 1000, 1000)->c_px == Approx(2596.7).margin(0.05));  // cropped
    CHECK_FALSE(principalDistancePrior(Exif{}, 3264, 1836));
    CHECK_FALSE(principalDistancePrior(e, 0, 0));
}

TEST_CASE("EXIF of a real laptop camera photograph") {
    const char* reference = std::getenv("TRAMMEL_REFERENCE");
    if (!reference) {
        WARN(
            "skipped: TRAMMEL_REFERENCE names no folder with "
            "calibration/highres/laptop-camera-chessboard.jpg");
        return;
    }
    // Figures confirmed with an independent reader (exiftool): 3.57 mm, 30 mm equivalent, no focal-plane
    // tags.
    const auto file = std::filesystem::path(reference) / "calibration/highres/laptop-camera-chessboard.jpg";
    const Result<Exif> e = readExif(file);
    REQUIRE(e);
    CHECK(*e->focalLength_mm == Approx(3.57));
    CHECK(e->focalLength35_mm == 30.0);
    CHECK_FALSE(e->focalPlaneResolution_per_mm);
    const Result<Image> image = decode(file, 8);
    REQUIRE(image);
    CHECK(image->width == 408);
    CHECK(principalDistancePrior(*e, 3264, 1836)->c_px == Approx(2596.7).margin(0.05));
}
