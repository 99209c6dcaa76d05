// SPDX-License-Identifier: GPL-3.0-or-later
// Corners in pictures with known truth, beside OpenCV's cornerSubPix on the same pictures.
#include <catch2/catch.hpp>
#include <iostream>
#include <limits>
#include <opencv2/imgproc.hpp>

#include "Pictures.h"
#include "core/fit/CornerRays.h"
#include "core/fit/EdgeFit.h"

using namespace trammel;
using namespace pictures;

namespace {

Vec2 byOpenCv(const LinearImage& picture, const Vec2& start) {
    const cv::Mat m(picture.height, picture.width, CV_32F, const_cast<float*>(picture.data.data()));
    std::vector<cv::Point2f> corner = {
        cv::Point2f(static_cast<float>(start.x()), static_cast<float>(start.y()))};
    cv::cornerSubPix(m, corner, cv::Size(8, 8), cv::Size(-1, -1),
                     cv::TermCriteria(cv::TermCriteria::EPS + cv::TermCriteria::COUNT, 100, 1e-4));
    return Vec2(corner[0].x, corner[0].y);
}

}  // namespace

TEST_CASE("Right corner from its two edges: within 0.05 px, σ honest, no worse than cornerSubPix") {
    std::mt19937 random(31);
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    std::normal_distribution<double> gauss;
    for (const double blur : {0.6, 1.2}) {
        double square = 0.0, theirs = 0.0;
        int n = 0, covered = 0;
        for (int k = 0; k < 60; ++k) {
            const double angle = 2.0 * std::numbers::pi * uniform(random);
            const Vec2 corner(79.5 + uniform(random), 79.5 + uniform(random));
            const auto picture = take(160, 160, rightCorner(corner, angle, 0.08, 0.5, blur),
                                      {0.008, true, static_cast<unsigned>(random())}, 4);
            const Vec2 hand = corner + 1.5 * Vec2(gauss(random), gauss(random));
            const auto rays = fit::edgesAround(picture, hand);
            INFO((rays ? std::string() : rays.error().sentence()));
            REQUIRE(rays);
            const auto f = fit::fitCorner(picture, hand, (*rays)[0], (*rays)[1]);
            INFO((f ? std::string() : f.error().sentence()));
            REQUIRE(f);
            REQUIRE(f->points.size() == 1);
            const Vec2 d = f->points[0].px - corner;
            square += d.squaredNorm() / 2.0;
            theirs += (byOpenCv(picture, hand) - corner).squaredNorm() / 2.0;
            for (int i = 0; i < 2; ++i) covered += std::abs(d(i)) < 2.0 * f->points[0].sigma_px;
            n += 2;
        }
        INFO("blur " << blur << ": rms " << std::sqrt(2 * square / n) << ", cornerSubPix "
                     << std::sqrt(2 * theirs / n) << ", covered " << 1.0 * covered / n);
        CHECK(std::sqrt(2 * square / n) < 0.05);
        CHECK(square < theirs);
        CHECK(covered > 0.93 * n);
    }
}

TEST_CASE("Corners: what cannot be told is refused in one sentence") {
    const auto code = [](const auto& r) { return r ? ErrorCode::Cancelled : r.error().code; };
    const auto edge = take(100, 100, halfPlane(Vec2(0, 1), 50.2, 0.1, 0.6, 1.0), {0.005, true, 3});
    CHECK(code(fit::edgesAround(edge, Vec2(50, 50))) == ErrorCode::Refused);
    CHECK(code(fit::edgesAround(edge, Vec2(-50, 50))) == ErrorCode::Refused);
    CHECK(code(fit::edgesAround(LinearImage{}, Vec2(5, 5))) == ErrorCode::Refused);
    const double nan = std::numeric_limits<double>::quiet_NaN();
    CHECK(code(fit::edgesAround(edge, Vec2(nan, 50))) == ErrorCode::BadValue);
    CHECK(code(fit::fitCorner(edge, Vec2(nan, 0), Vec2(1, 1), Vec2(2, 2))) == ErrorCode::BadValue);
    CHECK(code(fit::fitCorner(edge, Vec2(50, 50), Vec2(80, 50), Vec2(55, 50))) == ErrorCode::Refused);
    CHECK(code(fit::fitCorner(edge, Vec2(50, 50), Vec2(90, 50), Vec2(10, 50))) == ErrorCode::Refused);
    // Three edges of a box meet: which two?
    const auto box = take(
        100, 100,
        [](const Vec2& p) {
            const double a = std::atan2(p.y() - 50, p.x() - 50);
            return a < -0.9 ? 0.1 : a < 1.2 ? 0.5 : 0.9;
        },
        {0.005, true, 3}, 8);
    CHECK(code(fit::edgesAround(box, Vec2(50.5, 49.5))) == ErrorCode::Refused);
}
