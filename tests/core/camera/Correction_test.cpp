// SPDX-License-Identifier: GPL-3.0-or-later
// Corrected pictures against OpenCV's initUndistortRectifyMap and remap (Debian's 4.6).
#include "core/camera/Correction.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>
#include <string>
#include <vector>

#include "core/camera/CorrectPicture.h"

using namespace trammel;
using namespace trammel::camera;

namespace {

struct Lens {
    const char* name;
    Constants k;
};

Constants constants(double c, double k1, double k2 = 0, double k3 = 0, double p1 = 0, double p2 = 0) {
    Constants k;
    k.c = c;
    k.pp = {602.3, 391.8};
    k.k1 = k1, k.k2 = k2, k.k3 = k3, k.p1 = p1, k.p2 = p2;
    return k;
}

// Strong for the small pictures that tests can afford: up to 3 % of the radius at the corners.
const Lens kLenses[] = {{"barrel", constants(1800, -0.18)},
                        {"pincushion", constants(6600, 2.4)},
                        {"moustache, decentred", constants(2000, -0.20, 0.9, -0.5, 0.0008, -0.0011)},
                        {"long", constants(6600, 1.2, 30, 0, 0.0005, 0.0002)}};
constexpr int kWidth = 1200, kHeight = 800;

/// Smooth, different in each channel, so that a shift by a fraction of a px shows and rounding does not.
cv::Mat waves(int channels) {
    cv::Mat m(kHeight, kWidth, CV_8UC(channels));
    for (int y = 0; y < kHeight; ++y)
        for (int x = 0; x < kWidth; ++x)
            for (int c = 0; c < channels; ++c)
                m.ptr(y)[x * channels + c] = static_cast<std::uint8_t>(
                    128 + 60 * std::sin(x / (7.0 + c)) + 60 * std::cos(y / (8.0 + c) + x / 31.0));
    return m;
}

Pixels rows(const cv::Mat& m) {
    return {m.data, m.cols, m.rows, m.channels(), static_cast<std::ptrdiff_t>(m.step[0])};
}
PixelsOut rows(cv::Mat& m) {
    return {m.data, m.cols, m.rows, m.channels(), static_cast<std::ptrdiff_t>(m.step[0])};
}

/// OpenCV's map of the corrected frame, and its picture.
void outsideMap(const Constants& k, const Correction::Frame& f, cv::Mat& x, cv::Mat& y) {
    const cv::Matx33d lens(k.c, 0, k.pp.x(), 0, k.c, k.pp.y(), 0, 0, 1);
    const cv::Matx33d ideal(k.c, 0, k.pp.x() - f.x, 0, k.c, k.pp.y() - f.y, 0, 0, 1);
    const cv::Vec<double, 5> brown(k.k1, k.k2, k.p1, k.p2, k.k3);
    cv::initUndistortRectifyMap(lens, brown, cv::Matx33d::eye(), ideal, {f.width, f.height}, CV_32FC1, x, y);
}

}  // namespace

TEST_CASE("the map of a correction is that of OpenCV") {
    for (const auto& lens : kLenses) {
        INFO(lens.name);
        const auto correction = Correction::of(lens.k, Vec2::Zero(), kWidth, kHeight);
        REQUIRE(correction);
        const auto& f = correction->frame();
        cv::Mat mapX, mapY;
        outsideMap(lens.k, f, mapX, mapY);
        double worst = 0.0, worstBack = 0.0;
        for (int y = 0; y < f.height; y += 13)
            for (int x = 0; x < f.width; x += 11) {
                const Vec2 here(x + f.x, y + f.y), from = correction->toOriginal(here);
                worst = std::max(worst, (from - Vec2(mapX.at<float>(y, x), mapY.at<float>(y, x))).norm());
                const auto back = correction->toCorrected(from);
                REQUIRE(back);
                worstBack = std::max(worstBack, (*back - here).norm());
            }
        CHECK(worst < 2e-4);  // OpenCV's map is in floats
        CHECK(worstBack < 1e-8);
    }
}

TEST_CASE("positions on the coarse grid are right to 0.02 px") {
    double all = 0.0;
    for (const auto& lens : kLenses)
        for (const int shrink : {1, 2, 4}) {
            INFO(lens.name << ", shrunk " << shrink);
            const auto correction = Correction::of(lens.k, Vec2::Zero(), kWidth, kHeight);
            REQUIRE(correction);
            const auto& f = correction->frame();
            const auto size = correctedSize(*correction, shrink);
            double worst = 0.0;
            for (int y = 0; y < size.height; y += 29)
                for (int x = 0; x < size.width; x += 17) {
                    const Vec2 whole = (Vec2(x, y) + Vec2(0.5, 0.5)) * shrink - Vec2(0.5, 0.5);
                    const Vec2 exact =
                        (correction->toOriginal(whole + Vec2(f.x, f.y)) + Vec2(0.5, 0.5)) / shrink -
                        Vec2(0.5, 0.5);
                    worst = std::max(worst, (sampledAt(*correction, shrink, x, y) - exact).norm());
                }
            CHECK(worst < 0.02);
            CHECK(worst > 1e-5);  // it is rounded; zero would mean that nothing was compared
            all = std::max(all, worst);
        }
    WARN("largest error of a position: " << all << " px");
}

TEST_CASE("a corrected picture is the one that OpenCV makes") {
    for (const auto& lens : kLenses)
        for (const int channels : {1, 3, 4}) {
            INFO(lens.name << ", " << channels << " channels");
            const auto correction = Correction::of(lens.k, Vec2::Zero(), kWidth, kHeight);
            REQUIRE(correction);
            const auto& f = correction->frame();
            const cv::Mat picture = waves(channels);
            cv::Mat ours(f.height, f.width, CV_8UC(channels)), theirs, mapX, mapY, difference;
            correctPicture(*correction, rows(picture), 1, rows(ours));
            outsideMap(lens.k, f, mapX, mapY);
            cv::remap(picture, theirs, mapX, mapY, cv::INTER_LINEAR, cv::BORDER_CONSTANT);
            cv::absdiff(ours, theirs, difference);
            double most = 0.0;
            cv::minMaxLoc(difference.reshape(1), nullptr, &most);
            // remap rounds positions to 1/32 px: a slope of 9 codes a px is 0.3 codes, and both round. At the
            // picture's rim it is a step of 255 codes a px.
            cv::Mat rim;
            cv::threshold(theirs.reshape(1), rim, 0, 255, cv::THRESH_BINARY);
            cv::erode(rim.reshape(channels), rim, cv::Mat::ones(5, 5, CV_8U), {-1, -1}, 1,
                      cv::BORDER_CONSTANT, cv::Scalar::all(0));
            double within = 0.0;
            cv::minMaxLoc(difference.reshape(1), nullptr, &within, nullptr, nullptr, rim.reshape(1));
            CHECK(within <= 2.0);
            CHECK(most <= 12.0);
            CHECK(cv::countNonZero(rim.reshape(1)) > 0.9 * kWidth * kHeight * channels);
        }
}

TEST_CASE("a tile is a piece of the whole corrected picture, and nothing outside it is written") {
    const auto correction = Correction::of(kLenses[0].k, Vec2::Zero(), kWidth, kHeight);
    REQUIRE(correction);
    const cv::Mat picture = waves(3);
    cv::Mat whole(correction->frame().height, correction->frame().width, CV_8UC3);
    correctPicture(*correction, rows(picture), 1, rows(whole));
    cv::Mat room(120, 260, CV_8UC3, cv::Scalar::all(7));
    cv::Mat tile = room(cv::Rect(10, 10, 201, 77));
    correctPicture(*correction, rows(picture), 1, rows(tile), 311, 203);
    cv::Mat difference;
    cv::absdiff(tile, whole(cv::Rect(311, 203, 201, 77)), difference);
    double most = 0.0;
    cv::minMaxLoc(difference.reshape(1), nullptr, &most);
    CHECK(most <= 2.0);
    cv::Mat around = room.clone();
    around(cv::Rect(10, 10, 201, 77)).setTo(cv::Scalar::all(7));
    CHECK(cv::countNonZero(around.reshape(1) != 7) == 0);
}

TEST_CASE("a corrected picture holds all of the photograph, and emptiness where there was none") {
    for (const auto& lens : kLenses) {
        INFO(lens.name);
        const auto correction = Correction::of(lens.k, Vec2::Zero(), kWidth, kHeight);
        REQUIRE(correction);
        const auto& f = correction->frame();
        for (int i = 0; i <= 100; ++i)
            for (const Vec2& px :
                 {Vec2(i * (kWidth - 1) / 100.0, 0), Vec2(0, i * (kHeight - 1) / 100.0),
                  Vec2(i * (kWidth - 1) / 100.0, kHeight - 1), Vec2(kWidth - 1, i * (kHeight - 1) / 100.0)}) {
                const auto p = correction->toCorrected(px);
                REQUIRE(p);
                CHECK(p->x() > f.x - 0.05);
                CHECK(p->y() > f.y - 0.05);
                CHECK(p->x() < f.x + f.width - 0.95);
                CHECK(p->y() < f.y + f.height - 0.95);
            }
    }
    const auto barrel = Correction::of(kLenses[0].k, Vec2::Zero(), kWidth, kHeight);
    cv::Mat out(barrel->frame().height, barrel->frame().width, CV_8UC4);
    correctPicture(*barrel, rows(waves(4)), 1, rows(out), 0, 0, {1, 2, 3, 4});
    CHECK(out.at<cv::Vec4b>(0, out.cols / 2) == cv::Vec4b(1, 2, 3, 4));
}

TEST_CASE("constants of a cropped photograph count from the full frame") {
    Constants k = kLenses[0].k;
    const Vec2 offset(150, 90);
    const auto whole = Correction::of(k, Vec2::Zero(), kWidth, kHeight);
    const auto cropped = Correction::of(k, offset, kWidth - 300, kHeight - 200);
    REQUIRE(whole);
    REQUIRE(cropped);
    const Vec2 px(321, 123);
    CHECK((cropped->toOriginal(px) + offset - whole->toOriginal(px + offset)).norm() < 1e-9);
}

TEST_CASE("a correction that makes no picture is refused in a sentence") {
    const auto refused = [](const Constants& k, int width, int height) {
        const auto r = Correction::of(k, Vec2::Zero(), width, height);
        REQUIRE_FALSE(r);
        CHECK(r.error().sentence().find("corrected view: ") == 0);
        return r.error().code;
    };
    CHECK(refused(constants(1800, -2.5), kWidth, kHeight) == ErrorCode::Refused);       // folds
    CHECK(refused(constants(1800, 0, 0, 1e5), kWidth, kHeight) == ErrorCode::Refused);  // squeezes
    CHECK(refused(constants(std::nan(""), 0), kWidth, kHeight) == ErrorCode::BadValue);
    CHECK(refused(constants(1800, std::numeric_limits<double>::infinity()), kWidth, kHeight) ==
          ErrorCode::BadValue);
    CHECK(refused(constants(0, 0), kWidth, kHeight) == ErrorCode::BadValue);
    CHECK(refused(constants(1800, 0), 0, 10) == ErrorCode::BadValue);
    CHECK(refused(constants(1800, 0), 40000, 10) == ErrorCode::BadValue);
    CHECK_FALSE(Correction::worthwhile(constants(6600, 0.001), Vec2::Zero(), kWidth, kHeight));
    CHECK(Correction::worthwhile(constants(6600, 2.4), Vec2::Zero(), kWidth, kHeight));
}
