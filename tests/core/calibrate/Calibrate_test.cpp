// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/Calibrate.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <opencv2/calib3d.hpp>

#include "RealBoards.h"
#include "SimulatedBoards.h"

using namespace trammel;
using namespace trammel::calibrate;

namespace {

struct Theirs {
    cv::Mat camera, distortion;
    double rms = 0.0;
};

/// OpenCV 4.6 calibrateCamera, one principal distance, all of Brown's five constants.
Theirs byOpencv(const Board& board, const std::vector<BoardFrame>& frames, int width, int height,
                int flags = 0) {
    std::vector<std::vector<cv::Point3f>> object;
    std::vector<std::vector<cv::Point2f>> image;
    for (const BoardFrame& f : frames) {
        object.emplace_back();
        image.emplace_back();
        for (const BoardCorner& c : f.corners) {
            const Vec2 p = board.corner(c.i, c.j);
            object.back().emplace_back(static_cast<float>(p.x()), static_cast<float>(p.y()), 0.0F);
            image.back().emplace_back(static_cast<float>(c.px.x()), static_cast<float>(c.px.y()));
        }
    }
    Theirs out;
    out.camera = cv::Mat::eye(3, 3, CV_64F);
    std::vector<cv::Mat> turn, shift;
    out.rms = cv::calibrateCamera(object, image, {width, height}, out.camera, out.distortion, turn, shift,
                                  flags | cv::CALIB_FIX_ASPECT_RATIO,
                                  {cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 1000, 1e-15});
    return out;
}

/// The same corners rounded to single precision, which is all that OpenCV takes.
std::vector<BoardFrame> rounded(std::vector<BoardFrame> frames) {
    for (BoardFrame& f : frames)
        for (BoardCorner& c : f.corners) c.px = c.px.cast<float>().cast<double>();
    return frames;
}

void sameMinimum(const Board& board, const std::vector<BoardFrame>& given, int width, int height) {
    const auto frames = rounded(given);
    const Theirs theirs = byOpencv(board, frames, width, height);
    CalibrateOptions options;
    options.automatic = options.uneven = options.test = false;
    options.open.fill(true);
    options.width = width;
    options.height = height;
    const auto ours = calibrate::calibrate(board, frames, options);
    REQUIRE(ours);
    INFO("OpenCV's RMS " << theirs.rms << ", ours " << ours->rms_px);
    CHECK(ours->rms_px == Approx(theirs.rms).epsilon(1e-6));
    const auto& k = ours->constants;
    CHECK(k.c == Approx(theirs.camera.at<double>(0, 0)).epsilon(1e-6));
    CHECK(k.pp.x() == Approx(theirs.camera.at<double>(0, 2)).epsilon(1e-6));
    CHECK(k.pp.y() == Approx(theirs.camera.at<double>(1, 2)).epsilon(1e-6));
    const double values[5] = {k.k1, k.k2, k.p1, k.p2, k.k3};
    const LensConstant which[5] = {kK1, kK2, kP1, kP2, kK3};
    for (int n = 0; n < 5; ++n)
        CHECK(std::abs(values[n] - theirs.distortion.at<double>(n)) < 1e-6 + 1e-4 * ours->sigma(which[n]));
}

}  // namespace

TEST_CASE("the constants are at the same minimum as OpenCV's on its own photographs") {
    const auto files = tests::leftOrRight("left");
    if (files.empty()) {
        WARN("skipped: no TRAMMEL_REFERENCE and no opencv-doc with the left series");
        return;
    }
    std::vector<BoardFrame> frames;
    for (const auto& file : files) {
        const auto image = photo::decode(file);
        REQUIRE(image);
        const auto seen = findBoard(*image, tests::kOpencvBoard);
        INFO(file << (seen ? "" : seen.error().sentence()));
        REQUIRE(seen);
        BoardFrame frame{file.filename().string(), {}};
        for (const SeenCorner& c : *seen) frame.corners.push_back({c.i, c.j, c.px, Mat2::Identity()});
        frames.push_back(frame);
    }
    sameMinimum(tests::kOpencvBoard, frames, 640, 480);
}

TEST_CASE("the constants are at the same minimum as OpenCV's on simulated boards") {
    tests::Lens lens{{3200.0, Vec2(1540.0, 1010.0), -0.12, 0.15, 0.05, 4e-4, -3e-4}, 3000, 2000};
    const Board board{12, 9, 20.0, 20.0};
    render::Random random(7);
    const auto frames = tests::simulate(board, lens, tests::goodPoses(board, lens, 10, random), 0.1, random);
    sameMinimum(board, frames, lens.width, lens.height);
}
