// SPDX-License-Identifier: GPL-3.0-or-later
// Constants published with real photographs, found again with the model of those who published them.
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <opencv2/calib3d.hpp>

#include "RealBoards.h"
#include "core/calibrate/CalibratePhotographs.h"

using namespace trammel;
using namespace trammel::calibrate;

namespace {

const std::array<const char*, 9> kNames = {"fx", "fy", "x0", "y0", "k1", "k2", "p1", "p2", "k3"};

struct Points {
    std::vector<std::vector<cv::Point3f>> object;
    std::vector<std::vector<cv::Point2f>> image;
};

struct Constants {
    double rms = 0.0;
    std::vector<double> value, sigma;  ///< fx fy x0 y0 k1 k2 p1 p2 k3, px and pure numbers
};

/// Corners under the lens and the even board that a publication assumes, by calibrateCamera of OpenCV, which
/// finds the same minimum as ours where both assume the same (Calibrate_test).
Constants byOpencv(const Points& points, int flags) {
    cv::Mat camera = cv::Mat::eye(3, 3, CV_64F), distortion, intrinsics, extrinsics, views;
    std::vector<cv::Mat> turn, shift;
    Constants out;
    out.rms = cv::calibrateCamera(points.object, points.image, {640, 480}, camera, distortion, turn, shift,
                                  intrinsics, extrinsics, views, flags,
                                  {cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 1000, 1e-15});
    out.value = {camera.at<double>(0, 0), camera.at<double>(1, 1), camera.at<double>(0, 2),
                 camera.at<double>(1, 2)};
    for (int n = 0; n < 5; ++n) out.value.push_back(distortion.at<double>(n));
    // OpenCV 4.6 divides Σ|v|² by the points less the unknowns; every point has two coordinates.
    for (int n = 0; n < 9; ++n) out.sigma.push_back(intrinsics.at<double>(n) / std::sqrt(2.0));
    return out;
}

Points fittedCorners(const LensCalibration& fitted, const Board& board) {
    Points points;
    for (const PhotographResult& p : fitted.calibration.frames) {
        points.object.emplace_back();
        points.image.emplace_back();
        for (const CornerResidual& c : p.corners) {
            if (c.dropped) continue;
            const Vec2 place = board.corner(c.i, c.j);
            points.object.back().emplace_back(static_cast<float>(place.x()), static_cast<float>(place.y()),
                                              0.0F);
            points.image.back().emplace_back(static_cast<float>(c.px.x()), static_cast<float>(c.px.y()));
        }
    }
    return points;
}

/// The first constants of `published` within the joint ± (k = 2) of both; theirs come without, so it is taken
/// as large as ours in the proportion of both RMS.
void within(const Constants& ours, const std::vector<double>& published, double publishedRms) {
    const double joint = 2.0 * std::sqrt(1.0 + std::pow(publishedRms / ours.rms, 2));
    for (std::size_t n = 0; n < published.size(); ++n) {
        INFO(kNames[n] << ": ours " << ours.value[n] << " ± " << 2.0 * ours.sigma[n] << ", published "
                       << published[n]);
        CHECK(std::abs(ours.value[n] - published[n]) <= joint * ours.sigma[n]);
    }
}

}  // namespace

namespace {

/// The published points of one photograph: 64 separate squares, a line each, four corners (x, y) a line. One
/// kind of corner of all squares makes an even grid of 8 by 8, so that a photograph serves as four frames.
std::vector<BoardFrame> fourGrids(const std::filesystem::path& model, const std::filesystem::path& data,
                                  double pitch) {
    std::vector<BoardFrame> frames(4);
    std::ifstream places(model), pixels(data);
    for (int line = 0; line < 64; ++line)
        for (BoardFrame& frame : frames) {
            double x = 0, y = 0, u = 0, v = 0;
            REQUIRE((places >> x >> y && pixels >> u >> v));
            frame.name = data.stem().string();
            // y of the model grows downwards in the photographs and is negative; corners lie half a square
            // beside the grid's own places, which only shifts the grid.
            const int i = static_cast<int>(std::floor(x / pitch + 0.01));
            const int j = 7 + static_cast<int>(std::ceil(y / pitch - 0.01));
            frame.corners.push_back({i, j, {u, v}, Mat2::Identity()});
        }
    return frames;
}

}  // namespace

TEST_CASE("published points of five views give the published constants within the joint ±") {
    const auto folder = tests::referenceFolder("zhang-plane");
    if (folder.empty() || !std::filesystem::exists(folder / "Model.txt")) {
        WARN("skipped: no TRAMMEL_REFERENCE with calibration/zhang-plane");
        return;
    }
    // Z. Zhang, IEEE TPAMI 22(11), 2000: points in inches, squares of 0.5 at a pitch of 0.88889.
    const double pitch = 0.888889;
    std::vector<BoardFrame> frames;
    for (int view = 1; view <= 5; ++view) {
        const auto four =
            fourGrids(folder / "Model.txt", folder / ("data" + std::to_string(view) + ".txt"), pitch);
        frames.insert(frames.end(), four.begin(), four.end());
    }
    CalibrateOptions options;
    options.automatic = options.uneven = options.test = false;
    options.open = {true, true, true, true, true};
    options.width = 640;
    options.height = 480;
    const auto c = calibrate::calibrate({9, 9, pitch, pitch}, frames, options);
    INFO((c ? "" : c.error().sentence()));
    REQUIRE(c);
    CHECK(c->corners == 5 * 256);
    // Four poses a photograph take up what the squares' sides are off in print and picture, so that ours fits
    // better than the published RMS of 0.335 px (from memory). The skew of 0.2045 (0.014°) is zero here.
    CHECK(c->rms_px < 0.335);
    const auto& k = c->constants;
    const Constants ours{c->rms_px,
                         {k.c, k.c, k.pp.x(), k.pp.y(), k.k1, k.k2},
                         {c->sigma(kDistance), c->sigma(kDistance), c->sigma(kPointX), c->sigma(kPointY),
                          c->sigma(kK1), c->sigma(kK2)}};
    within(ours, {832.5, 832.53, 303.959, 206.585, -0.228601, 0.190353}, 0.335);
}

TEST_CASE("real photographs: a board of 30 mm squares gives the published constants within the joint ±") {
    const auto files = tests::series(tests::referenceFolder("boofcv-chess-30mm"), "frame");
    if (files.empty()) {
        WARN("skipped: no TRAMMEL_REFERENCE with calibration/boofcv-chess-30mm");
        return;
    }
    const Board board{5, 7, 30.0, 30.0};
    const auto fitted = calibratePhotographs(files, board);
    REQUIRE(fitted);
    // intrinsic.yaml of the set: two principal distances, two radial terms, none tangential; no RMS.
    const Constants c =
        byOpencv(fittedCorners(*fitted, board), cv::CALIB_ZERO_TANGENT_DIST | cv::CALIB_FIX_K3);
    within(c, {701.0116883, 698.6537947, 308.4551818, 246.8430056, -0.2555924857, 0.0999712748}, c.rms);
}
