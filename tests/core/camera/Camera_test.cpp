// SPDX-License-Identifier: GPL-3.0-or-later
// Projection and distortion against OpenCV's projectPoints (Debian's 4.6), which prints the same formula.
#include "core/camera/Camera.h"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <catch2/catch.hpp>
#include <numbers>
#include <opencv2/calib3d.hpp>
#include <random>

#include "core/math/Rotation.h"

using namespace trammel;
using namespace trammel::camera;

namespace {

class Random {
  public:
    explicit Random(unsigned seed) : engine_(seed) {}
    double uniform(double lo, double hi) { return std::uniform_real_distribution<double>(lo, hi)(engine_); }
    Vec3 direction() {
        std::normal_distribution<double> n;
        return Vec3(n(engine_), n(engine_), n(engine_)).normalized();
    }

  private:
    std::mt19937_64 engine_;
};

/// A kind of lens: principal distance, distance, half-width of the part, strength of distortion at the rim.
struct Lens {
    const char* name;
    double c, standOff, half, strength;
};
const Lens kLenses[] = {{"200 mm at 5 m", 33000, 5000, 250, 0.01},
                        {"50 mm at 0.9 m", 8300, 900, 150, 0.05},
                        {"wide, close", 2500, 300, 180, 0.10}};

/// Constants whose radial and tangential terms each move the rim by up to `strength` of its radius.
Constants randomConstants(const Lens& lens, Random& random) {
    const double rim = lens.half / lens.standOff, s = lens.strength;
    Constants k;
    k.c = lens.c * random.uniform(0.9, 1.1);
    k.pp = {random.uniform(2500, 3500), random.uniform(1500, 2500)};
    k.k1 = random.uniform(-s, s) / std::pow(rim, 2);
    k.k2 = random.uniform(-s, s) / std::pow(rim, 4) / 2;
    k.k3 = random.uniform(-s, s) / std::pow(rim, 6) / 4;
    k.p1 = random.uniform(-s, s) / rim / 10;
    k.p2 = random.uniform(-s, s) / rim / 10;
    return k;
}

/// Any orientation, then set back along its own axis so that the part is in front.
Pose randomPose(const Lens& lens, Random& random) {
    Pose pose;
    pose.R = rotationExp(random.uniform(0, std::numbers::pi) * random.direction());
    pose.t = {random.uniform(-0.2, 0.2) * lens.half, random.uniform(-0.2, 0.2) * lens.half, lens.standOff};
    return pose;
}

Vec3 randomPoint(const Lens& lens, Random& random) {
    return {random.uniform(-0.5, 0.5) * lens.half, random.uniform(-0.5, 0.5) * lens.half,
            random.uniform(-0.5, 0.5) * lens.half};
}

std::vector<cv::Point2d> byOpenCv(const Constants& k, const Pose& pose,
                                  const std::vector<cv::Point3d>& points) {
    cv::Matx33d r;
    for (int i = 0; i < 3; ++i)
        for (int j = 0; j < 3; ++j) r(i, j) = pose.R(i, j);
    cv::Vec3d rvec;
    cv::Rodrigues(r, rvec);
    const cv::Matx33d matrix(k.c, 0, k.pp.x(), 0, k.c, k.pp.y(), 0, 0, 1);
    const cv::Vec<double, 5> coefficients(k.k1, k.k2, k.p1, k.p2, k.k3);
    std::vector<cv::Point2d> image;
    cv::projectPoints(points, rvec, cv::Vec3d(pose.t.x(), pose.t.y(), pose.t.z()), matrix, coefficients,
                      image);
    return image;
}

}  // namespace

TEST_CASE("projection equals OpenCV's projectPoints to 1e-9 px") {
    Random random(1);
    for (const Lens& lens : kLenses) {
        double worst = 0, largestDistortion = 0;
        for (int i = 0; i < 200; ++i) {
            const Constants k = randomConstants(lens, random);
            Pose pose = randomPose(lens, random);
            // OpenCV takes a rotation vector: start from one, so that both use the same rotation to the last
            // bit that double allows.
            pose.R = rotationExp(rotationLog(pose.R));
            std::vector<cv::Point3d> points;
            std::vector<Vec2> ours;
            for (int j = 0; j < 20; ++j) {
                const Vec3 p = randomPoint(lens, random);
                points.emplace_back(p.x(), p.y(), p.z());
                const auto px = project(k, pose, p);
                REQUIRE(px);
                ours.push_back(*px);
                const Vec3 q = pose.R * p + pose.t;
                largestDistortion =
                    std::max(largestDistortion, (*px - (k.c * q.head<2>() / q.z() + k.pp)).norm());
            }
            const auto theirs = byOpenCv(k, pose, points);
            for (std::size_t j = 0; j < ours.size(); ++j)
                worst = std::max(worst, (ours[j] - Vec2(theirs[j].x, theirs[j].y)).norm());
        }
        INFO(lens.name << ": worst " << worst << " px, distortion up to " << largestDistortion << " px");
        CHECK(worst < 1e-9);
        CHECK(largestDistortion > 5.0);  // or the comparison would say nothing about distortion
    }
}

TEST_CASE("each of Brown's five constants is the one OpenCV means") {
    Random random(2);
    const Lens& lens = kLenses[2];
    for (int which = 0; which < 5; ++which) {
        Constants k;
        k.c = lens.c;
        k.pp = {3000, 2000};
        double* const constants[] = {&k.k1, &k.k2, &k.k3, &k.p1, &k.p2};
        *constants[which] = 0.05;
        const Pose pose = randomPose(lens, random);
        const Vec3 p = randomPoint(lens, random);
        const auto theirs = byOpenCv(k, pose, {{p.x(), p.y(), p.z()}});
        INFO("constant " << which);
        CHECK((*project(k, pose, p) - Vec2(theirs[0].x, theirs[0].y)).norm() < 1e-9);
    }
}

TEST_CASE("points beside or behind the camera have no image") {
    Constants k;
    k.c = 1000;
    Pose pose;
    pose.t = {0, 0, 10};
    CHECK(project(k, pose, {1, 2, -9.999}));
    CHECK_FALSE(project(k, pose, {1, 2, -10}));
    CHECK_FALSE(project(k, pose, {1, 2, -11}));
    CHECK_FALSE(project(k, pose, {1, 2, std::numeric_limits<double>::quiet_NaN()}));
}

TEST_CASE("the centre of a pose projects from where the camera stands") {
    Random random(3);
    for (int i = 0; i < 100; ++i) {
        const Pose pose = randomPose(kLenses[1], random);
        CHECK((pose.R * pose.centre() + pose.t).norm() < 1e-11);
    }
}

TEST_CASE("undistorting undoes distorting") {
    Random random(4);
    for (const Lens& lens : kLenses) {
        for (int i = 0; i < 2000; ++i) {
            const Constants k = randomConstants(lens, random);
            const double rim = 0.7 * lens.half / lens.standOff;
            const Vec2 xy(random.uniform(-rim, rim), random.uniform(-rim, rim));
            const Vec2 px = k.c * distort(k, xy) + k.pp;
            const auto back = undistort(k, px);
            REQUIRE(back);
            REQUIRE((*back - xy).norm() < 1e-13);
        }
    }
}

TEST_CASE("the derivative of distortion equals differences") {
    Random random(5);
    for (const Lens& lens : kLenses) {
        const double rim = lens.half / lens.standOff, h = 1e-5 * rim;
        for (int i = 0; i < 500; ++i) {
            const Constants k = randomConstants(lens, random);
            const Vec2 xy(random.uniform(-rim, rim), random.uniform(-rim, rim));
            Mat2 j;
            distort(k, xy, &j);
            for (int axis = 0; axis < 2; ++axis) {
                const Vec2 e = h * Vec2::Unit(axis);
                const Vec2 difference = (distort(k, xy + e) - distort(k, xy - e)) / (2 * h);
                REQUIRE((j.col(axis) - difference).norm() < 1e-8);  // second order: (1e-5)² and rounding
            }
        }
    }
}

TEST_CASE("where the lens model folds over, undistorting says so") {
    Constants k;
    k.c = 1000;
    k.k1 = -0.5;  // x (1 - r²/2) turns round at r = √(2/3), where it reaches 0.544
    CHECK(undistort(k, {540, 0}));
    CHECK_FALSE(undistort(k, {560, 0}));
    CHECK_FALSE(undistort(k, {5000, -4000}));
    CHECK_FALSE(undistort(k, {std::numeric_limits<double>::quiet_NaN(), 0}));
}

TEST_CASE("the ray through an image point meets the point") {
    Random random(6);
    for (const Lens& lens : kLenses) {
        for (int i = 0; i < 200; ++i) {
            const Constants k = randomConstants(lens, random);
            const Pose pose = randomPose(lens, random);
            const Vec3 p = randomPoint(lens, random);
            const auto ray = rayDirection(k, *project(k, pose, p));
            REQUIRE(ray);
            CHECK(ray->norm() == Approx(1.0).epsilon(1e-15));
            const Vec3 inCamera = pose.R * p + pose.t;
            REQUIRE(ray->cross(inCamera.normalized()).norm() < 1e-13);
            REQUIRE(ray->dot(inCamera) > 0);
        }
    }
}
