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

namespace {

const tests::Lens kLens{{3200.0, Vec2(1510.0, 985.0), -0.12, 0.1, 0.0, 3e-4, -2e-4}, 3000, 2000};
const Board kBoard{12, 9, 20.0, 20.0};

CalibrateOptions optionsFor(const tests::Lens& lens) {
    CalibrateOptions options;
    options.width = lens.width;
    options.height = lens.height;
    return options;
}

std::string refusalOf(const Board& board, const std::vector<BoardFrame>& frames, CalibrateOptions options) {
    const auto c = calibrate::calibrate(board, frames, options);
    REQUIRE(!c);
    return c.error().sentence();
}

}  // namespace

TEST_CASE("a corner that is off and a photograph of a moved board are left out and named") {
    render::Random random(3);
    auto poses = tests::goodPoses(kBoard, kLens, 9, random);
    auto frames = tests::simulate(kBoard, kLens, poses, 0.1, random);
    const auto clean = calibrate::calibrate(kBoard, frames, optionsFor(kLens));
    REQUIRE(clean);
    frames[2].corners[40].px += Vec2(1.5, -1.0);
    for (BoardCorner& c : frames[5].corners) c.px += Vec2(0.8 * random.normal(), 0.8 * random.normal());
    const auto c = calibrate::calibrate(kBoard, frames, optionsFor(kLens));
    REQUIRE(c);
    CHECK(c->frames[2].corners[40].dropped);
    CHECK(!c->frames[5].used);
    CHECK(c->photographs == 8);
    REQUIRE(c->remarks.size() >= 2);
    bool corner = false, photograph = false;
    for (const std::string& s : c->remarks) {
        corner = corner || s.rfind("frame 3: ", 0) == 0;
        photograph = photograph || s.rfind("frame 6: its corners disagree", 0) == 0;
    }
    CHECK(corner);
    CHECK(photograph);
    CHECK(c->factor == Approx(1.0).margin(0.06));
    CHECK(std::abs(c->constants.c - kLens.truth.c) < 2.5 * 2 * c->sigma(kDistance));
    CHECK(std::abs(c->constants.c - clean->constants.c) < 3 * c->sigma(kDistance));
    CHECK(!c->advice.empty());
}

TEST_CASE("photographs too alike are refused, and the missing motions are named") {
    render::Random random(4);
    std::vector<tests::BoardPose> poses(6, tests::BoardPose{0.02, 0.0, 0.0, Vec2(1500, 1000), 9.0});
    for (std::size_t n = 0; n < poses.size(); ++n) poses[n].at.x() += 40.0 * static_cast<double>(n);
    const auto frames = tests::simulate(kBoard, kLens, poses, 0.1, random);
    CHECK(refusalOf(kBoard, frames, optionsFor(kLens)) ==
          "calibration: the photographs of the board are too alike to tell the lens; take more with a tilt "
          "about "
          "x (its upper edge nearer, then farther, by 20 to 40°), a tilt about y (its left edge nearer, then "
          "farther, by 20 to 40°), a rotation by 90° about the line of sight and another distance.");
    // Tilted both ways and turned, from one distance: goes, and says what is lacking.
    std::vector<tests::BoardPose> tilted(6, tests::BoardPose{0.0, 0.0, 0.0, Vec2(1500, 1000), 9.5});
    tilted[1].tiltX = 0.5, tilted[2].tiltX = -0.5, tilted[3].tiltY = 0.5, tilted[4].tiltY = -0.5;
    const auto c =
        calibrate::calibrate(kBoard, tests::simulate(kBoard, kLens, tilted, 0.1, random), optionsFor(kLens));
    REQUIRE(c);
    bool lacks = false;
    for (const std::string& s : c->remarks)
        lacks =
            lacks || s == "What the photographs lack: a rotation by 90° about the line of sight and another "
                          "distance.";
    CHECK(lacks);
}

TEST_CASE("what cannot be calibrated is refused in one sentence") {
    render::Random random(5);
    const auto poses = tests::goodPoses(kBoard, kLens, 8, random);
    const auto frames = tests::simulate(kBoard, kLens, poses, 0.1, random);
    using Catch::Matchers::Contains;
    CHECK_THAT(refusalOf(kBoard, {frames[0]}, optionsFor(kLens)),
               Contains("1 usable photograph of the board"));
    CHECK_THAT(refusalOf(kBoard, {}, optionsFor(kLens)), Contains("0 usable photographs"));
    auto few = frames;
    for (BoardFrame& f : few) f.corners.resize(8);
    CHECK_THAT(refusalOf(kBoard, few, optionsFor(kLens)), Contains("0 usable photographs"));
    auto broken = frames;
    broken[1].corners[3].px.x() = std::nan("");
    CHECK_THAT(refusalOf(kBoard, broken, optionsFor(kLens)),
               Contains("frame 2: a corner's place or σ is no number"));
    broken = frames;
    broken[1].corners[3].covariance.setZero();
    CHECK_THAT(refusalOf(kBoard, broken, optionsFor(kLens)), Contains("is no number"));
    Board wrong = kBoard;
    wrong.columns = 1;
    CHECK_THAT(refusalOf(wrong, frames, optionsFor(kLens)), Contains("no usable board"));
    auto nowhere = optionsFor(kLens);
    nowhere.width = 0;
    CHECK_THAT(refusalOf(kBoard, frames, nowhere), Contains("the frame has no size"));
    // All in one part of the frame.
    auto thin = poses;
    for (tests::BoardPose& p : thin) {
        p.scale = 3.0;
        p.at = Vec2(500, 400);
    }
    CHECK_THAT(refusalOf(kBoard, tests::simulate(kBoard, kLens, thin, 0.1, random), optionsFor(kLens)),
               Contains("never show the board in the upper middle, upper right"));
}

TEST_CASE("a board whose squares are stated too high is found to be so") {
    render::Random random(6);
    Board stated = kBoard;
    stated.pitchY_mm = 20.0 * 1.002;  // 0.2 % more than it is
    stated.ratioSigma = 2e-3;
    auto poses = tests::goodPoses(kBoard, kLens, 12, random);
    std::vector<BoardFrame> frames = tests::simulate(kBoard, kLens, poses, 0.05, random);
    const auto c = calibrate::calibrate(stated, frames, optionsFor(kLens));
    REQUIRE(c);
    CHECK(c->ratio.value == Approx(std::log(1.002)).margin(4 * c->ratio.sigma));
    CHECK(c->ratio.sigma < 3e-4);
    CHECK(std::abs(c->constants.c - kLens.truth.c) < 4 * c->sigma(kDistance));
}
