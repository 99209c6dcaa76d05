// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/LensRecord.h"

#include <Eigen/Eigenvalues>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>

#include "TemporaryFolder.h"
#include "core/photo/Orientation.h"

using namespace trammel;
using namespace trammel::calibrate;
using Catch::Matchers::Contains;

namespace {

LensRecord example() {
    LensRecord r;
    r.body = "Example Optics Body 1";
    r.lens = "Example Optics 200";
    r.focal_mm = 200.0;
    r.focus_m = 5.0;
    r.width = 6000;
    r.height = 4000;
    r.constants = {33333.1, Vec2(3010.5, 1990.25), -0.31, 4.5, 0.0, 1e-4, -2e-4};
    Mat8 a = Mat8::Zero();
    for (int i = 0; i < 8; ++i)
        for (int j = 0; j <= i; ++j) a(i, j) = i == kK3 || j == kK3 ? 0.0 : (i == j ? 1.0 : 0.3) * (1 + i);
    r.covariance = 1e-6 * a * a.transpose();
    r.growth = {0.1, 0.02};
    r.date = "2026-05-01";
    r.photographs = 14;
    r.rms_px = 0.12;
    return r;
}

}  // namespace

TEST_CASE("a lens file reads back as it was written") {
    const LensRecord r = example();
    const auto back = fromJson(toJson(r));
    REQUIRE(back);
    CHECK(toJson(*back) == toJson(r));
    CHECK(back->covariance == r.covariance);
    CHECK(back->constants.pp == r.constants.pp);
    const test::TemporaryFolder folder;
    const auto file = folder / "lens.json";
    REQUIRE(saveLens(r, file));
    const auto loaded = loadLens(file);
    std::filesystem::remove(file);
    REQUIRE(loaded);
    CHECK(loaded->growth == r.growth);
    CHECK(!loadLens(file));
}

TEST_CASE("a lens file that cannot be is refused, and the sentence names the place") {
    const auto refusal = [](std::string text, const std::string& from, const std::string& to) {
        const auto at = text.find(from);
        REQUIRE(at != std::string::npos);
        text.replace(at, from.size(), to);
        const auto record = fromJson(text);
        REQUIRE(!record);
        return record.error().sentence();
    };
    const std::string text = toJson(example());
    CHECK_THAT(refusal(text, "\"k1\"", "\"k9\""), Contains("constants.k1 is absent"));
    CHECK_THAT(refusal(text, "\"focus_m\"", "\"focus\""), Contains("focus"));
    CHECK_THAT(refusal(text, "33333.1", "-1"), Contains("principal_distance_px is not above zero"));
    CHECK_THAT(refusal(text, "6000", "0"), Contains("frame_px"));
    CHECK_THAT(refusal(text, "\"version\": 1", "\"version\": 7"), Contains("version 7"));
    CHECK_THAT(refusal(text, "\"covariance\": [", "\"covariance\": [[1,2],"), Contains("covariance"));
    LensRecord no = example();
    no.covariance(kK1, kK2) = no.covariance(kK2, kK1) = 1.0;
    CHECK_THAT(fromJson(toJson(no)).error().sentence(), Contains("negative variance"));
    CHECK(!fromJson("{"));
}

TEST_CASE("independent constants of a survey never promise more than the calibration") {
    const LensRecord r = example();
    survey::CameraGroup group;
    group.id = "G1";
    group.pupil = {12.0, 1.0, survey::ConstantMode::Prior};
    group = withConstants(group, r);
    CHECK(group.id == "G1");
    CHECK(group.pupil.value == 12.0);
    CHECK(group.lens == r.lens);
    CHECK(group.k3.mode == survey::ConstantMode::Fixed);
    CHECK(group.k1.mode == survey::ConstantMode::Prior);
    CHECK(group.p2.value == r.constants.p2);
    const double sigmas[8] = {group.principalDistance.sigma,
                              group.principalX.sigma,
                              group.principalY.sigma,
                              group.k1.sigma,
                              group.k2.sigma,
                              group.k3.sigma,
                              group.p1.sigma,
                              group.p2.sigma};
    Mat8 wider = Mat8::Zero();
    for (int i = 0; i < 8; ++i) wider(i, i) = sigmas[i] * sigmas[i];
    CHECK(Eigen::SelfAdjointEigenSolver<Mat8>(wider - r.covariance).eigenvalues()(0) > -1e-18);
    // The bare σ would promise more: the test can fail.
    const Mat8 bare = r.covariance.diagonal().asDiagonal();
    CHECK(Eigen::SelfAdjointEigenSolver<Mat8>(bare - r.covariance).eigenvalues()(0) < -1e-7);
}

TEST_CASE("the constants of a turned body project what the turned picture shows") {
    const LensRecord r = example();
    for (const int orientation : {3, 6, 8}) {
        const LensRecord t = turned(r, orientation);
        // A stored picture with one bright pixel, turned upright by core/photo, is the reference.
        photo::Image stored{12, 8, 1, std::vector<std::uint8_t>(96, 0)};
        stored.data[static_cast<std::size_t>(2 * 12 + 9)] = 255;
        const photo::Image upright = photo::upright(stored, orientation);
        Vec2 seen(-1, -1);
        for (int y = 0; y < upright.height; ++y)
            for (int x = 0; x < upright.width; ++x)
                if (*upright.at(x, y)) seen = Vec2(x, y);
        LensRecord small;
        small.width = 12;
        small.height = 8;
        small.constants.pp = Vec2(9, 2);
        CHECK((turned(small, orientation).constants.pp - seen).norm() < 1e-12);
        // A point in space, the body turned about its axis along with the frame.
        const Vec2 origin = turned(small, orientation).constants.pp;
        small.constants.pp = Vec2(10, 2);
        const Vec2 alongX = turned(small, orientation).constants.pp - origin;
        const Mat2 turn = (Mat2() << alongX.x(), -alongX.y(), alongX.y(), alongX.x()).finished();
        const Vec2 xy(0.07, -0.04);
        const Vec2 level = r.constants.c * camera::distort(r.constants, xy);
        const Vec2 held = t.constants.c * camera::distort(t.constants, turn * xy);
        CHECK((turn * level - held).norm() < 1e-9);
        CHECK(std::abs(t.covariance.trace() - r.covariance.trace()) < 1e-15);
        const int back = orientation == 3 ? 3 : 14 - orientation;
        CHECK((turned(t, back).covariance - r.covariance).norm() < 1e-15);
        CHECK((turned(t, back).constants.pp - r.constants.pp).norm() < 1e-9);
    }
}
