// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>

#include "RealBoards.h"
#include "RenderedBoards.h"
#include "TemporaryFolder.h"
#include "core/calibrate/CalibratePhotographs.h"
#include "core/calibrate/LocateCorners.h"
#include "core/photo/Encode.h"
#include "core/photo/Exif.h"

using namespace trammel;
using namespace trammel::calibrate;
using Catch::Matchers::Contains;
namespace fs = std::filesystem;

namespace {

fs::path grey(const fs::path& file, int width, int height, const photo::Exif& exif = {}) {
    photo::Image image{width, height, 3,
                       std::vector<std::uint8_t>(static_cast<std::size_t>(width * height * 3), 128)};
    REQUIRE(photo::encodeJpeg(image, file, 90));
    REQUIRE(photo::writeExif(file, exif));
    return file;
}

std::string refusalOf(const std::vector<fs::path>& files, const Board& board) {
    const auto c = calibratePhotographs(files, board);
    REQUIRE(!c);
    return c.error().sentence();
}

/// Published constants agree when they lie within the joint ±; the published ones come without, so theirs is
/// taken as large as ours (the same photographs, rougher corners).
void agrees(double ours, double sigma, double published, const char* what) {
    INFO(what << ": ours " << ours << " ± " << 2 * sigma << ", published " << published);
    CHECK(std::abs(ours - published) <= 2.0 * std::sqrt(2.0) * sigma);
}

/// Rows of squares in a photograph, distortion and perspective taken out: relative standard deviation of
/// their lengths from the first corner to the last, root of the mean square over the photographs.
double unevenSpacing(const LensCalibration& c, const Board& board) {
    double squares = 0.0;
    int n = 0;
    for (const PhotographResult& p : c.calibration.frames) {
        const auto onBoard = [&](const CornerResidual& r) {
            const Vec3 ray = p.pose.R.transpose() * *camera::rayDirection(c.record.constants, r.px);
            const Vec3 eye = p.pose.centre();
            return Vec3(eye - ray * (eye.z() / ray.z()));
        };
        std::vector<double> lengths;
        for (const CornerResidual& a : p.corners)
            for (const CornerResidual& b : p.corners)
                if (!a.dropped && !b.dropped && a.j == b.j && a.i == 0 && b.i == board.cornerColumns() - 1)
                    lengths.push_back((onBoard(a) - onBoard(b)).norm());
        double mean = 0.0;
        for (const double l : lengths) mean += l / static_cast<double>(lengths.size());
        for (const double l : lengths) squares += std::pow(l / mean - 1.0, 2), ++n;
    }
    REQUIRE(n > 20);
    return std::sqrt(squares / n);
}

}  // namespace

TEST_CASE("real photographs: no worse than the published calibration of OpenCV's left series") {
    const auto files = tests::leftOrRight("left");
    if (files.empty()) {
        WARN("skipped: no TRAMMEL_REFERENCE and no opencv-doc with the left series");
        return;
    }
    const auto c = calibratePhotographs(files, tests::kOpencvBoard);
    INFO((c ? "" : c.error().sentence()));
    REQUIRE(c);
    // left_intrinsics.yml of OpenCV's samples: avg_reprojection_error over all 13 photographs 0.39259, of
    // which the middle one has 0.193; the same root of the mean of |v|² over corners as ours.
    CHECK(c->calibration.photographs == 13);
    CHECK(c->calibration.rms_px < 0.39259098975581364);
    CHECK(c->calibration.rms_px < 0.1929);
    // Its constants hang on a photograph with an error of 1.18 px (left02), six times the others': no ± of
    // ours or theirs covers that, c differs by 1.4 of both.
    CHECK(c->record.constants.c == Approx(535.9).epsilon(0.01));
    const double spacing = unevenSpacing(*c, tests::kOpencvBoard);
    INFO("rows of squares differ by " << spacing);
    CHECK(spacing < 1e-3);
}

TEST_CASE("real photographs: BoofCV's board of 30 mm squares agrees with its published calibration") {
    const auto files = tests::series(tests::referenceFolder("boofcv-chess-30mm"), "frame");
    if (files.empty()) {
        WARN("skipped: no TRAMMEL_REFERENCE with calibration/boofcv-chess-30mm");
        return;
    }
    const Board board{5, 7, 30.0, 30.0};
    const auto c = calibratePhotographs(files, board);
    INFO((c ? "" : c.error().sentence()));
    REQUIRE(c);
    CHECK(c->calibration.photographs == 13);
    const double spacing = unevenSpacing(*c, board);
    INFO("rows of squares differ by " << spacing);
    CHECK(spacing < 1e-3);
    // intrinsic.yaml of the set: fx 701.01, fy 698.65 (two focal lengths: their ratio 1.0034 stands for the
    // pitches here), x0 308.455, y0 246.843, two radial terms, none tangential.
    CHECK(c->record.constants.c == Approx(0.5 * (701.0117 + 698.6538)).epsilon(0.02));
    CHECK(std::abs(c->record.constants.k1 - -0.25559) < 2.0 * std::sqrt(2.0) * c->record.sigma(kK1));
    agrees(c->record.constants.pp.x(), c->record.sigma(kPointX), 308.4552, "x0");
}

TEST_CASE("photographs that do not belong together are refused in one sentence") {
    const test::TemporaryFolder folder;
    const Board board{9, 7, 10.0, 10.0};
    photo::Exif one;
    one.make = "Example Optics";
    one.model = "Body 1";
    one.lensModel = "Example Optics 200";
    one.focalLength_mm = 200.0;
    photo::Exif two = one, three = one, four = one;
    two.model = "Body 2";
    three.lensModel = "Example Optics 100";
    four.focalLength_mm = 100.0;
    const auto a = grey(folder.path() / "a.jpg", 96, 64, one);
    CHECK_THAT(refusalOf({a, grey(folder.path() / "b.jpg", 96, 64, two)}, board),
               Contains("b.jpg: the photograph is of another camera than a.jpg"));
    CHECK_THAT(refusalOf({a, grey(folder.path() / "c.jpg", 96, 64, three)}, board),
               Contains("another lens than a.jpg"));
    CHECK_THAT(refusalOf({a, grey(folder.path() / "d.jpg", 96, 64, four)}, board),
               Contains("d.jpg: the focal length of 100 mm is another than a.jpg"));
    CHECK_THAT(refusalOf({a, grey(folder.path() / "e.jpg", 64, 96, one)}, board),
               Contains("the picture of 64 × 96 px has another size than a.jpg"));
    CHECK_THAT(refusalOf({a}, board), Contains("the board is found in 0 of 1 photographs; a.jpg: no board"));
    CHECK_THAT(refusalOf({folder.path() / "absent.jpg"}, board), Contains("absent.jpg"));
    CHECK_THAT(refusalOf({}, board), Contains("no photographs are named"));
}

TEST_CASE("a rendered coded board seen in part: found, numbered and calibrated to its truth") {
    const test::TemporaryFolder folder;
    const tests::Lens lens{{950.0, Vec2(402.0, 296.0), -0.15, 0.12, 0.0, 0.0, 0.0}, 800, 600};
    Board board{12, 9, 10.0, 10.0};
    board.code = BoardCode::Dots;
    const auto files = tests::renderBoard(board, lens, 7, folder.path());
    REQUIRE(files);
    const auto c = calibratePhotographs(*files, board);
    INFO((c ? "" : c.error().sentence()));
    REQUIRE(c);
    CHECK(c->calibration.photographs >= 6);
    CHECK(c->record.lens == "Example Optics 35");
    CHECK(c->record.focal_mm == Approx(35.0));
    const auto& k = c->record.constants;
    CHECK(std::abs(k.c - lens.truth.c) < 3.5 * c->record.sigma(kDistance));
    CHECK((k.pp - lens.truth.pp).norm() < 3.5 * (c->record.sigma(kPointX) + c->record.sigma(kPointY)));
    CHECK(std::abs(k.k1 - lens.truth.k1) < 3.5 * c->record.sigma(kK1));
    CHECK(c->calibration.rms_px < 0.06);
    // The renderer writes the sRGB curve: edges lie where they are.
    CHECK(std::abs(c->record.growth.value) < 0.05);
    // Wrong numbers of squares and a board that is none of ours.
    Board other = board;
    other.code = BoardCode::Plain;
    other.columns = 11;
    const auto image = photo::decode(files->front());
    REQUIRE(image);
    const auto seen = findBoard(*image, other);
    REQUIRE(!seen);
    CHECK_THAT(seen.error().sentence(),
               Contains("a board of 12 by 9 squares is seen where 11 by 9 were told"));
    // Mirrored.
    photo::Image flipped = *image;
    for (int y = 0; y < image->height; ++y)
        for (int x = 0; x < image->width; ++x)
            for (int n = 0; n < image->channels; ++n)
                flipped.data[static_cast<std::size_t>((y * image->width + x) * image->channels + n)] =
                    image->at(image->width - 1 - x, y)[n];
    const auto mirrored = findBoard(flipped, board);
    REQUIRE(!mirrored);
    CHECK_THAT(mirrored.error().sentence(), Contains("mirrored"));
}
