// SPDX-License-Identifier: GPL-3.0-or-later
// Straight edges in pictures with known truth (Pictures.h): bias, spread, coverage of σ, and refusals.
#include "core/fit/EdgeFit.h"

#include <catch2/catch.hpp>
#include <limits>

#include "Pictures.h"

using namespace trammel;
using namespace pictures;
using trammel::fit::fitEdge;
using trammel::fit::FitOptions;

namespace {

/// An edge of 200 px through a picture of 240 × 240, any direction, with a stroke by an unsteady hand.
struct Shot {
    Vec2 normal, middle, from, to;
    LinearImage picture;
};

Shot shoot(std::mt19937& random, double blur, double contrast, double noise, double hand) {
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    std::normal_distribution<double> gauss;
    const double angle = 2.0 * std::numbers::pi * uniform(random);
    Shot s;
    s.normal = Vec2(std::cos(angle), std::sin(angle));
    s.middle = Vec2(119.5 + uniform(random), 119.5 + uniform(random));
    const Vec2 along(-s.normal.y(), s.normal.x());
    s.from = s.middle - 100 * along + hand * gauss(random) * s.normal;
    s.to = s.middle + 100 * along + hand * gauss(random) * s.normal;
    s.picture = take(240, 240, halfPlane(s.normal, s.normal.dot(s.middle), 0.08, 0.08 + contrast, blur),
                     {noise, true, static_cast<unsigned>(random())}, 4);
    return s;
}

bool refused(const Result<fit::Fit>& r, const std::string& word = "") {
    return !r && r.error().code == ErrorCode::Refused && r.error().sentence().find(word) != std::string::npos;
}

}  // namespace

TEST_CASE("Edge of 200 px: bias at most 0.02 px, blur and contrast found") {
    std::mt19937 random(11);
    for (const double blur : {0.5, 1.0, 2.5})
        for (const double contrast : {0.1, 0.8}) {
            INFO("blur " << blur << " contrast " << contrast);
            double sum = 0.0;
            int n = 0;
            for (int k = 0; k < 40; ++k) {
                const Shot s = shoot(random, blur, contrast, 0.004, 1.5);
                const auto f = fitEdge(s.picture, s.from, s.to);
                INFO((f ? std::string() : f.error().sentence()));
                REQUIRE(f);
                for (const auto& p : f->points) sum += s.normal.dot(p.px - s.middle), ++n;
                CHECK(f->contrast == Approx(contrast).epsilon(0.06));
                CHECK(f->blur_px == Approx(blur).epsilon(0.15));
            }
            CHECK(std::abs(sum / n) < 0.02);
        }
}

// Points of 50 px each. The bound for a step A blurred by σ on white noise s over a length L is
// s/A · sqrt(2 σ √π / L) (derived: the information of one pixel is the square of its slope).
TEST_CASE("Spread near the Cramér-Rao bound, and the printed σ covers it") {
    std::mt19937 random(12);
    for (const double blur : {0.7, 1.5}) {
        const double contrast = 0.3, noise = 0.03, total = std::sqrt(blur * blur + 1.0 / 12.0);
        double square = 0.0, sigma = 0.0;
        int n = 0, covered = 0;
        for (int k = 0; k < 150; ++k) {
            const Shot s = shoot(random, blur, contrast, noise, 1.5);
            const auto f = fitEdge(s.picture, s.from, s.to);
            INFO((f ? std::string() : f.error().sentence()));
            REQUIRE(f);
            for (const auto& p : f->points) {
                const double d = s.normal.dot(p.px - s.middle);
                square += d * d;
                covered += std::abs(d) < 2.0 * p.sigma_px;
                sigma += p.sigma_px;
                ++n;
            }
        }
        const double spread = std::sqrt(square / n);
        const double bound = noise / contrast * std::sqrt(2.0 * total * std::sqrt(std::numbers::pi) / 50.0);
        INFO("blur " << blur << " spread " << spread << " bound " << bound << " covered "
                     << 1.0 * covered / n);
        CHECK(spread < 1.5 * bound);
        CHECK(covered > 0.93 * n);
        // Wider only by the doubt common to a whole edge: 0.02 px spread over four points.
        CHECK(sigma / n < 1.15 * std::hypot(spread, 0.04));
    }
}

TEST_CASE("A hand 3 px off still lands on the edge, polarity and direction do not matter") {
    std::mt19937 random(13);
    int good = 0;
    const int all = 60;
    for (int k = 0; k < all; ++k) {
        Shot s = shoot(random, 1.0, 0.3, 0.01, 3.0);
        if (k % 2) std::swap(s.from, s.to);
        FitOptions o;
        o.searchRadius_px = 12.0;
        o.handSigma_px = 3.0;
        const auto f = fitEdge(s.picture, s.from, s.to, o);
        if (!f) continue;
        bool near = true;
        for (const auto& p : f->points) near = near && std::abs(s.normal.dot(p.px - s.middle)) < 0.3;
        CHECK(near);
        good += near;
    }
    CHECK(good >= 0.98 * all);
}

TEST_CASE("Two edges close by: the nearer one, or a refusal, and never a place between them") {
    for (const double apart : {3.0, 4.0, 6.0, 9.0}) {
        const auto first = halfPlane(Vec2(1, 0), 100.3, 0.0, 0.3, 0.8);
        const auto second = halfPlane(Vec2(1, 0), 100.3 + apart, 0.0, 0.3, 0.8);
        const auto picture = take(
            200, 200, [&](const Vec2& p) { return 0.1 + first(p) + second(p); }, {0.004, true, 5}, 4);
        FitOptions o;
        o.handSigma_px = 1.0;
        const auto f = fitEdge(picture, Vec2(100.3, 20), Vec2(100.3, 180), o);
        INFO(apart << " px apart");
        if (f)
            for (const auto& p : f->points) CHECK(std::abs(p.px.x() - 100.3) < 0.05);
        else
            CHECK(refused(f));
        if (apart >= 4.0) CHECK(f);
        const auto between = fitEdge(picture, Vec2(100.3 + apart / 2, 20), Vec2(100.3 + apart / 2, 180));
        if (apart < 9.0) CHECK(refused(between, "two edges"));
    }
}

TEST_CASE("Edges: what cannot be told is refused in one sentence") {
    const auto flat = take(
        100, 100, [](const Vec2&) { return 0.4; }, {0.01, true, 3}, 1);
    CHECK(refused(fitEdge(flat, Vec2(20, 50), Vec2(80, 50))));
    const auto even = take(
        100, 100, [](const Vec2&) { return 0.4; }, {}, 1);
    CHECK(refused(fitEdge(even, Vec2(20, 50), Vec2(80, 50))));
    const auto scene = halfPlane(Vec2(0, 1), 50.2, 0.1, 0.6, 1.0);
    const auto good = take(100, 100, scene, {0.005, true, 3});
    CHECK(fitEdge(good, Vec2(20, 50), Vec2(80, 50)));
    CHECK(refused(fitEdge(good, Vec2(-300, 50), Vec2(-200, 50)), "leaves the picture"));
    CHECK(refused(fitEdge(good, Vec2(50, 50), Vec2(400, 50)), "leaves the picture"));
    CHECK(refused(fitEdge(good, Vec2(20, 50), Vec2(23, 50)), "too short"));
    CHECK(refused(fitEdge(good, Vec2(20, 50), Vec2(20, 50)), "too short"));
    const double nan = std::numeric_limits<double>::quiet_NaN();
    const auto bad = fitEdge(good, Vec2(nan, 50), Vec2(80, 50));
    CHECK((!bad && bad.error().code == ErrorCode::BadValue));
    const auto saturated = take(100, 100, halfPlane(Vec2(0, 1), 50.2, 0.3, 1.6, 1.0), {0.005, true, 3});
    CHECK(refused(fitEdge(saturated, Vec2(20, 50), Vec2(80, 50)), "saturated"));
    const auto line = take(100, 100,
                           [](const Vec2& p) {
                               return 0.6 - 0.5 * (halfPlane(Vec2(0, 1), 49.5, 0, 1, 0.7)(p) -
                                                   halfPlane(Vec2(0, 1), 50.5, 0, 1, 0.7)(p));
                           },
                           {0.005, true, 3});
    CHECK(refused(fitEdge(line, Vec2(20, 50), Vec2(80, 50)), "two edges"));
    CHECK(refused(fitEdge(LinearImage{}, Vec2(20, 50), Vec2(80, 50))));
    LinearImage short_{100, 100, std::vector<float>(50)};
    CHECK(refused(fitEdge(short_, Vec2(20, 50), Vec2(80, 50))));
}

TEST_CASE("An edge that runs into the picture's border keeps its inner part") {
    const auto good = take(120, 100, halfPlane(Vec2(0, 1), 50.2, 0.1, 0.6, 1.0), {0.005, true, 3});
    const auto f = fitEdge(good, Vec2(20, 50), Vec2(150, 50));
    REQUIRE(f);
    for (const auto& p : f->points) CHECK(p.px.y() == Approx(50.2).margin(0.05));
    CHECK(f->points.size() >= 2);
}

TEST_CASE("An edge that a lens bends by a pixel is followed") {
    // Circle of radius 20 000 px: sag of 0.99 px over 398 px.
    const Vec2 centre(200, 20100.3);
    const auto scene = [&](const Vec2& p) {
        return 0.1 + 0.5 * 0.5 * std::erfc(((p - centre).norm() - 20000.0) / std::numbers::sqrt2);
    };
    const auto picture = take(400, 200, scene, {0.005, true, 9}, 4);
    const auto f = fitEdge(picture, Vec2(3, 100.5), Vec2(397, 101));
    REQUIRE(f);
    for (const auto& p : f->points) {
        const double d = (p.px - centre).norm() - 20000.0;
        CHECK(std::abs(d) < 3.0 * p.sigma_px + 0.01);
        CHECK(p.sigma_px < 0.06);
    }
}

TEST_CASE("Light that changes evenly holds no edge, with or without noise") {
    for (const double noise : {0.0, 0.002})
        for (const double base : {100.0, 200.0})
            for (const double codes :
                 {0.05, 0.1, 0.17, 0.5, 2.0})  // per px; without noise one code is a step
                for (const double angle : {0.05, 0.6}) {
                    const Vec2 n(std::sin(angle), std::cos(angle)), along(n.y(), -n.x()), middle(100, 80);
                    const auto ramp = take(
                        200, 160,
                        [&](const Vec2& p) {
                            return fromSrgb(std::clamp((base + codes * n.dot(p - middle)) / 255.0, 0.0, 1.0));
                        },
                        {noise, true, 3}, 2);
                    for (const double off : {-4.0, 0.0, 2.5}) {
                        INFO(noise << " noise, " << base << ", " << codes << " codes/px, " << angle << ", "
                                   << off);
                        CHECK(refused(
                            fitEdge(ramp, middle + off * n - 60 * along, middle + off * n + 60 * along)));
                    }
                }
    const auto scene = halfPlane(Vec2(0, 1), 80.3, 0.4, 0.42, 1.0);  // three codes are a step
    CHECK(fitEdge(take(200, 160, scene, {0.0, true, 3}, 4), Vec2(40, 80), Vec2(160, 80)));
}
