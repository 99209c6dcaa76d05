// SPDX-License-Identifier: GPL-3.0-or-later
// Rotations: group properties, the difficult ends (0 and π), and OpenCV's Rodrigues as an outside witness.
#include "core/math/Rotation.h"

#include <Eigen/Geometry>
#include <catch2/catch.hpp>
#include <numbers>
#include <opencv2/calib3d.hpp>
#include <random>

using namespace trammel;

namespace {

constexpr double kPi = std::numbers::pi;

class Random {
  public:
    double uniform(double lo, double hi) { return std::uniform_real_distribution<double>(lo, hi)(engine_); }
    Vec3 direction() {
        std::normal_distribution<double> n;
        return Vec3(n(engine_), n(engine_), n(engine_)).normalized();
    }

  private:
    std::mt19937_64 engine_{20240607};
};

double departure(const Mat3& a, const Mat3& b) { return (a - b).cwiseAbs().maxCoeff(); }

}  // namespace

TEST_CASE("skew is the cross product") {
    Random random;
    for (int i = 0; i < 100; ++i) {
        const Vec3 a = random.direction() * 3, b = random.direction() * 5;
        CHECK((skew(a) * b - a.cross(b)).norm() < 1e-14);
        CHECK(departure(skew(a), -skew(a).transpose()) == 0.0);
    }
}

TEST_CASE("a rotation turns right-handed about its vector") {
    const Mat3 r = rotationExp({0, 0, kPi / 2});
    CHECK((r * Vec3::UnitX() - Vec3::UnitY()).norm() < 1e-15);
    CHECK((r * Vec3::UnitY() + Vec3::UnitX()).norm() < 1e-15);
}

TEST_CASE("exp gives proper rotations that keep their axis, add along it and invert by sign") {
    Random random;
    for (int i = 0; i < 1000; ++i) {
        const Vec3 axis = random.direction();
        const double a = random.uniform(-7, 7), b = random.uniform(-7, 7);
        const Mat3 r = rotationExp(a * axis);
        REQUIRE(departure(r * r.transpose(), Mat3::Identity()) < 1e-14);
        REQUIRE(r.determinant() == Approx(1.0).epsilon(1e-14));
        REQUIRE((r * axis - axis).norm() < 1e-14);
        REQUIRE(departure(r * rotationExp(b * axis), rotationExp((a + b) * axis)) < 1e-14);
        REQUIRE(departure(rotationExp(-a * axis), r.transpose()) < 1e-15);
    }
}

TEST_CASE("log inverts exp up to half a turn, from the smallest angles on") {
    Random random;
    for (const double angle : {0.0, 1e-300, 1e-18, 1e-13, 0.99e-12, 1.01e-12, 1e-9, 1e-6, 1e-3, 0.5, 2.0, 3.0,
                               kPi - 1e-3, kPi - 1e-6, kPi - 1e-9}) {
        for (int i = 0; i < 100; ++i) {
            const Vec3 w = angle * random.direction();
            REQUIRE((rotationLog(rotationExp(w)) - w).norm() <= 1e-14 * std::max(1.0, angle) * 4);
        }
    }
}

TEST_CASE("small angles keep their relative precision") {
    Random random;
    for (const double angle : {1e-6, 1e-9, 1e-11, 1e-13}) {
        const Vec3 w = angle * random.direction();
        CHECK((rotationLog(rotationExp(w)) - w).norm() < 1e-15 + 1e-9 * angle);
    }
}

TEST_CASE("exp inverts log everywhere, half turns included") {
    Random random;
    for (int i = 0; i < 1000; ++i) {
        const double angle = i % 2 ? kPi : random.uniform(0, 2 * kPi);
        const Mat3 r = rotationExp(angle * random.direction());
        const Vec3 w = rotationLog(r);
        REQUIRE(w.norm() <= kPi + 1e-14);
        REQUIRE(departure(rotationExp(w), r) < 2e-15 * 8);
    }
    for (const Vec3& axis : {Vec3(1, 0, 0), Vec3(0, 1, 0), Vec3(0, 0, 1)}) {
        const Mat3 half = 2 * axis * axis.transpose() - Mat3::Identity();  // exact half turn
        CHECK(rotationLog(half).norm() == Approx(kPi).epsilon(1e-15));
        CHECK(departure(rotationExp(rotationLog(half)), half) < 1e-15);
    }
}

TEST_CASE("exp and log agree with OpenCV's Rodrigues") {
    Random random;
    for (int i = 0; i < 500; ++i) {
        const Vec3 w = random.uniform(0, kPi - 1e-4) * random.direction();
        cv::Matx33d theirs;
        cv::Rodrigues(cv::Vec3d(w.x(), w.y(), w.z()), theirs);
        const Mat3 ours = rotationExp(w);
        for (int r = 0; r < 3; ++r)
            for (int c = 0; c < 3; ++c) REQUIRE(ours(r, c) == Approx(theirs(r, c)).margin(1e-14));
        cv::Vec3d back;
        cv::Rodrigues(theirs, back);
        REQUIRE((rotationLog(ours) - Vec3(back[0], back[1], back[2])).norm() <
                1e-10);  // theirs is the looser
    }
}

TEST_CASE("the nearest rotation leaves rotations alone and is beaten by none in the neighbourhood") {
    Random random;
    for (int i = 0; i < 200; ++i) {
        const Mat3 r = rotationExp(random.uniform(0, kPi) * random.direction());
        REQUIRE(departure(nearestRotation(r), r) < 1e-14);
        REQUIRE(departure(nearestRotation(2.5 * r), r) < 1e-14);

        Mat3 m;  // any matrix, also one that turns right to left
        for (int k = 0; k < 9; ++k) m(k / 3, k % 3) = random.uniform(-1, 1);
        const Mat3 best = nearestRotation(m);
        REQUIRE(best.determinant() == Approx(1.0).epsilon(1e-13));
        REQUIRE(departure(best * best.transpose(), Mat3::Identity()) < 1e-14);
        for (int k = 0; k < 20; ++k) {
            const Mat3 other = rotationExp(random.uniform(0, kPi) * random.direction()) * best;
            REQUIRE((other - m).norm() >= (best - m).norm() - 1e-12);
        }
    }
}
