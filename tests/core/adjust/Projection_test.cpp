// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Projection.h"

#include <opencv2/calib3d.hpp>

#include <catch2/catch.hpp>
#include <random>

#include "core/math/Rotation.h"

using namespace trammel;
using namespace trammel::adjust;

TEST_CASE("the adjustment's projection equals the camera model and OpenCV's projectPoints") {
    std::mt19937 random(11);
    const auto uniform = [&](double low, double high) {
        return std::uniform_real_distribution<double>(low, high)(random);
    };
    int compared = 0;
    for (int trial = 0; trial < 300; ++trial) {
        State state;
        state.groups.resize(1);
        state.stations.resize(1);
        GroupState& g = state.groups[0];
        const double c = std::exp(uniform(std::log(1500), std::log(60000)));
        g.lnKappa = -std::log(c);
        g.pp = {uniform(2000, 4000), uniform(1000, 3000)};
        g.rho = 3600;
        g.K = {uniform(-0.05, 0.05), uniform(-0.02, 0.02), uniform(-0.01, 0.01), uniform(-2e-3, 2e-3),
               uniform(-2e-3, 2e-3)};
        StationState& s = state.stations[0];
        s.R = rotationExp(Vec3(uniform(-3, 3), uniform(-2, 2), uniform(-2, 2)));
        s.lnScale = std::log(uniform(2, 12));
        s.g = g.pp + Vec2(uniform(-800, 800), uniform(-800, 800));
        const camera::Pose pose = state.pose(s);
        const camera::Constants k = g.constants();
        cv::Mat rotation(3, 3, CV_64F), vector, K = cv::Mat::eye(3, 3, CV_64F);
        for (int i = 0; i < 3; ++i)
            for (int j = 0; j < 3; ++j) rotation.at<double>(i, j) = pose.R(i, j);
        K.at<double>(0, 0) = K.at<double>(1, 1) = k.c;
        K.at<double>(0, 2) = k.pp.x(), K.at<double>(1, 2) = k.pp.y();
        cv::Rodrigues(rotation, vector);
        const cv::Mat t = (cv::Mat_<double>(3, 1) << pose.t.x(), pose.t.y(), pose.t.z());
        const cv::Mat brown = (cv::Mat_<double>(5, 1) << k.k1, k.k2, k.p1, k.p2, k.k3);
        for (int p = 0; p < 10; ++p) {
            const Vec3 X(uniform(-150, 150), uniform(-120, 120), uniform(-40, 40));
            Vec2 u;
            if (!projectPoint(g, s, X, u)) continue;
            const auto same = camera::project(k, pose, X);
            REQUIRE(same);
            CHECK((*same - u).norm() < 1e-9);
            std::vector<cv::Point2d> out;
            cv::projectPoints(std::vector<cv::Point3d>{{X.x(), X.y(), X.z()}}, vector, t, K, brown, out);
            CHECK(std::hypot(out[0].x - u.x(), out[0].y - u.y()) < 1e-9);
            ++compared;
        }
    }
    CHECK(compared > 2500);
}

TEST_CASE("a point behind the camera is refused by all three forms") {
    GroupState g;
    g.lnKappa = -std::log(3000.0);
    StationState s;
    s.lnScale = std::log(3.0);  // distance c / m = 1000
    Vec2 u;
    Mat23 J;
    Projected all;
    for (const double z : {-1000.0, -1500.0}) {
        CHECK_FALSE(projectPoint(g, s, {1, 2, z}, u));
        CHECK_FALSE(projectPoint(g, s, {1, 2, z}, u, J));
        CHECK_FALSE(projectPoint(g, s, {1, 2, z}, all));
    }
    CHECK(projectPoint(g, s, {1, 2, -990}, u));
}

TEST_CASE("moving the datum and rescaling leave every image where it was") {
    std::mt19937 random(4);
    const auto uniform = [&](double low, double high) {
        return std::uniform_real_distribution<double>(low, high)(random);
    };
    for (int trial = 0; trial < 50; ++trial) {
        State state;
        state.groups.resize(1);
        state.groups[0].lnKappa = -std::log(uniform(2000, 40000));
        state.groups[0].pp = {2999.5, 1999.5};
        state.stations.resize(1);
        StationState& s = state.stations[0];
        s.R = rotationExp(Vec3(uniform(-1, 1), uniform(-1, 1), uniform(-3, 3)));
        s.lnScale = std::log(5.0);
        s.g = {2000, 1500};
        state.features.resize(2);
        state.features[0].p = {30, 40, 0};
        state.features[0].level = 0;
        state.features[1].p = {-20, 10, 12};
        state.levels = {7.0};
        state.forms.resize(1);
        state.forms[0] = {{5, -3}, {0.01, -0.02}, {1e-4, -2e-4, 3e-4}};
        std::vector<Vec2> before(2), after(2);
        for (std::size_t i = 0; i < 2; ++i)
            REQUIRE(projectPoint(state.groups[0], s, state.point(state.features[i]), before[i]));
        const double distance = (state.point(state.features[0]) - state.point(state.features[1])).norm();
        moveDatum(state, {uniform(-50, 50), uniform(-50, 50)}, uniform(-3, 3));
        CHECK((state.point(state.features[0]) - state.point(state.features[1])).norm() == Approx(distance));
        rescale(state, 1.7);
        for (std::size_t i = 0; i < 2; ++i) {
            REQUIRE(projectPoint(state.groups[0], s, state.point(state.features[i]), after[i]));
            CHECK((after[i] - before[i]).norm() < 1e-8);
        }
    }
}
