// SPDX-License-Identifier: GPL-3.0-or-later
// Holes and arcs in pictures with known truth (Pictures.h; a blurred disc by quadrature).
#include <catch2/catch.hpp>
#include <iostream>
#include <limits>
#include <opencv2/imgproc.hpp>

#include "Pictures.h"
#include "core/fit/Conic.h"
#include "core/fit/EdgeFit.h"

using namespace trammel;
using namespace pictures;
using trammel::fit::fitRim;

namespace {

std::vector<Vec2> clicks(std::mt19937& random, const Vec2& centre, double radius, int n, double hand,
                         double from = 0.0, double sweep = 2.0 * std::numbers::pi) {
    std::normal_distribution<double> gauss;
    std::vector<Vec2> out;
    for (int i = 0; i < n; ++i) {
        const double t = from + sweep * i / (sweep > 6.0 ? n : n - 1);
        out.push_back(centre + (radius + hand * gauss(random)) * Vec2(std::cos(t), std::sin(t)));
    }
    return out;
}

std::optional<fit::Ellipse> ellipseOf(const fit::Fit& f) {
    std::vector<Vec2> points;
    std::vector<double> weights;
    for (const auto& p : f.points) {
        points.push_back(p.px);
        weights.push_back(1.0 / (p.sigma_px * p.sigma_px));
    }
    const auto start = fit::fitCircle(points, weights);
    return start ? fit::fitEllipse(points, *start, weights) : start;
}

/// What a threshold half-way and OpenCV's fitEllipse on the contour give.
double openCvDiameter(const LinearImage& picture, double threshold, Vec2& centre) {
    const cv::Mat m(picture.height, picture.width, CV_32F, const_cast<float*>(picture.data.data()));
    const cv::Mat below = m < threshold;
    std::vector<std::vector<cv::Point>> contours;
    cv::findContours(below, contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
    std::size_t best = 0;
    for (std::size_t i = 0; i < contours.size(); ++i)
        if (contours[i].size() > contours[best].size()) best = i;
    const cv::RotatedRect r = cv::fitEllipse(contours[best]);
    centre = Vec2(r.center.x, r.center.y);
    return 0.5 * (r.size.width + r.size.height);
}

}  // namespace

TEST_CASE("Hole of 20 px: centre within 0.03 px, diameter bias at most 0.05 px, better than fitEllipse") {
    std::mt19937 random(21);
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    for (const double blur : {0.5, 1.0, 2.5}) {
        double bias = 0.0, square = 0.0, theirBias = 0.0, theirSquare = 0.0;
        int n = 0, points = 0, covered = 0;
        for (int k = 0; k < 40; ++k) {
            const Vec2 centre(30 + uniform(random), 30 + uniform(random));
            const auto picture = take(61, 61, disc(centre, 10.0, 0.05, 0.55, blur),
                                      {0.005, true, static_cast<unsigned>(random())}, 4);
            const auto f = fitRim(picture, clicks(random, centre, 10.0, 5, 1.2), true);
            REQUIRE(f);
            CHECK(f->points.size() >= 10);
            for (const auto& p : f->points) {
                covered += std::abs((p.px - centre).norm() - 10.0) < 2.0 * p.sigma_px;
                ++points;
            }
            const auto e = ellipseOf(*f);
            REQUIRE(e);
            bias += e->shape.trace() - 20.0;
            square += (e->centre - centre).squaredNorm() / 2.0;
            Vec2 theirs;
            theirBias += openCvDiameter(picture, 0.30, theirs) - 20.0;
            theirSquare += (theirs - centre).squaredNorm() / 2.0;
            ++n;
        }
        INFO("blur " << blur << ": diameter bias " << bias / n << ", centre rms " << std::sqrt(square / n)
                     << "; fitEllipse " << theirBias / n << ", " << std::sqrt(theirSquare / n) << "; covered "
                     << 1.0 * covered / points);
        CHECK(std::abs(bias / n) < 0.05);
        CHECK(std::sqrt(square / n) < 0.03);
        CHECK(std::abs(bias / n) < std::abs(theirBias / n));
        CHECK(square < theirSquare);
        CHECK(covered > 0.93 * points);
    }
}

TEST_CASE("Hole seen obliquely: the rim is an ellipse") {
    // A disc squeezed by 0.82 along 30°: the blur is squeezed with it, which moves the rim by less than 0.01
    // px here.
    const Vec2 centre(50.3, 49.6);
    const double squeeze = 0.82, radius = 24.0;
    const Vec2 u(std::cos(0.52), std::sin(0.52)), v(-u.y(), u.x());
    const auto round = disc(Vec2::Zero(), radius, 0.05, 0.5, 0.9);
    const auto picture = take(
        100, 100, [&](const Vec2& p) { return round(Vec2(u.dot(p - centre) / squeeze, v.dot(p - centre))); },
        {0.005, true, 4}, 4);
    std::mt19937 random(3);
    std::vector<Vec2> hand = clicks(random, Vec2::Zero(), radius, 6, 1.0);
    for (Vec2& p : hand) p = centre + squeeze * p.x() * u + p.y() * v;
    const auto f = fitRim(picture, hand, true);
    REQUIRE(f);
    const auto e = ellipseOf(*f);
    REQUIRE(e);
    CHECK((e->centre - centre).norm() < 0.02);
    CHECK(fit::axesOf(*e).a == Approx(radius).margin(0.03));
    CHECK(fit::axesOf(*e).b == Approx(squeeze * radius).margin(0.03));
}

TEST_CASE("Quarter of a rim of 20 px radius") {
    std::mt19937 random(22);
    int covered = 0, points = 0;
    for (int k = 0; k < 30; ++k) {
        const Vec2 centre(20.4, 21.7);
        const double from = 0.35, sweep = 1.25;
        const auto picture = take(61, 61, disc(centre, 20.0, 0.5, 0.05, 0.8),
                                  {0.005, true, static_cast<unsigned>(random())}, 4);
        const auto f = fitRim(picture, clicks(random, centre, 20.0, 5, 1.0, from, sweep), false);
        REQUIRE(f);
        CHECK(f->points.size() >= 3);
        for (const auto& p : f->points) {
            const double d = (p.px - centre).norm() - 20.0,
                         t = std::atan2(p.px.y() - centre.y(), p.px.x() - centre.x());
            CHECK(std::abs(d) < 0.15);
            CHECK(t > from - 0.1);
            CHECK(t < from + sweep + 0.1);
            covered += std::abs(d) < 2.0 * p.sigma_px;
            ++points;
        }
    }
    INFO(1.0 * covered / points);
    CHECK(covered > 0.93 * points);
}

TEST_CASE("A glint over part of the rim does not move it") {
    const Vec2 centre(40.2, 39.7);
    const auto hole = disc(centre, 15.0, 0.05, 0.4, 0.8);
    const auto picture = take(
        80, 80,
        [&](const Vec2& p) {
            return hole(p) + 0.5 * std::exp(-0.5 * (p - centre - Vec2(15, 0)).squaredNorm() / 4.0);
        },
        {0.005, true, 4}, 4);
    std::mt19937 random(5);
    const auto f = fitRim(picture, clicks(random, centre, 15.0, 5, 1.0), true);
    REQUIRE(f);
    for (const auto& p : f->points) CHECK(std::abs((p.px - centre).norm() - 15.0) < 4.0 * p.sigma_px + 0.03);
    const auto e = ellipseOf(*f);
    REQUIRE(e);
    CHECK((e->centre - centre).norm() < 0.05);
}

TEST_CASE("Rims: what cannot be told is refused in one sentence") {
    std::mt19937 random(23);
    const Vec2 centre(40.2, 39.7);
    const auto picture = take(80, 80, disc(centre, 15.0, 0.05, 0.4, 0.8), {0.005, true, 4}, 4);
    const auto code = [](const Result<fit::Fit>& r) { return r ? ErrorCode::Cancelled : r.error().code; };
    CHECK(code(fitRim(picture, {Vec2(1, 1), Vec2(2, 2)}, true)) == ErrorCode::BadValue);
    const double nan = std::numeric_limits<double>::quiet_NaN();
    CHECK(code(fitRim(picture, {Vec2(1, nan), Vec2(2, 2), Vec2(4, 1)}, true)) == ErrorCode::BadValue);
    CHECK(code(fitRim(picture, {Vec2(10, 10), Vec2(20, 20), Vec2(30, 30)}, true)) == ErrorCode::Refused);
    CHECK(code(fitRim(picture, {Vec2(40, 40), Vec2(41, 41), Vec2(40, 42)}, true)) == ErrorCode::Refused);
    CHECK(code(fitRim(picture, clicks(random, Vec2(300, 300), 15, 5, 0), true)) == ErrorCode::Refused);
    CHECK(code(fitRim(picture, clicks(random, Vec2(2, 2), 15, 5, 0), true)) == ErrorCode::Refused);
    const auto flat = take(
        80, 80, [](const Vec2&) { return 0.4; }, {0.01, true, 3}, 1);
    CHECK(code(fitRim(flat, clicks(random, centre, 15, 5, 1), true)) == ErrorCode::Refused);
    const auto saturated = take(80, 80, disc(centre, 15.0, 0.3, 1.5, 0.8), {0.005, true, 4}, 4);
    CHECK(code(fitRim(saturated, clicks(random, centre, 15, 5, 1), true)) == ErrorCode::Refused);
}
