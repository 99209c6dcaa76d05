// SPDX-License-Identifier: GPL-3.0-or-later
// Chances of fit against closed forms where there are some, and against draws of another generator with a
// search of our own where there are none (JCGM 101:2008, GUM Supplement 1: propagation of distributions).
#include "core/mount/PatternFit.h"

#include <Eigen/Cholesky>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>

using namespace trammel;
using namespace trammel::mount;

namespace {

/// Four holes of 3.4 for M3, at the corners of 100 by 60.
std::vector<PatternHole> four() {
    return {{{0, 0}, 3.4, 3.0}, {{100, 0}, 3.4, 3.0}, {{100, 60}, 3.4, 3.0}, {{0, 60}, 3.4, 3.0}};
}

/// A full covariance: a shared scale and turn, and each hole's own part.
MatX linked(double sigma) {
    const auto holes = four();
    MatX a = MatX::Zero(12, 15);
    for (int i = 0; i < 4; ++i) {
        const Vec2 p = holes[static_cast<std::size_t>(i)].place;
        for (int k = 0; k < 3; ++k) a(3 * i + k, 3 * i + k) = k < 2 ? sigma : 0.4 * sigma;
        a(3 * i, 12) = 0.01 * sigma * p.x(), a(3 * i + 1, 12) = 0.01 * sigma * p.y();
        a(3 * i, 13) = -0.02 * sigma * p.y(), a(3 * i + 1, 13) = 0.02 * sigma * p.x();
        a(3 * i + 2, 14) = 0.5 * sigma;
    }
    return a * a.transpose();
}

/// The least largest ratio over shifts and turns, by a search that only compares: a net that closes in.
double searched(const std::vector<Vec2>& places, const std::vector<Vec2>& errors,
                const std::vector<double>& c) {
    Vec3 best = Vec3::Zero();
    const auto ratio = [&](const Vec3& p) {
        double most = 0.0;
        for (std::size_t i = 0; i < places.size(); ++i) {
            const Vec2 q = places[i] - Vec2(50, 30);
            most = std::max(most, (errors[i] - p.head<2>() - p.z() / 50 * Vec2(-q.y(), q.x())).norm() / c[i]);
        }
        return most;
    };
    double least = ratio(best);
    for (double step = 0.5; step > 1e-6;) {
        bool better = false;
        const Vec3 at = best;
        for (int i = -1; i <= 1; ++i)
            for (int j = -1; j <= 1; ++j)
                for (int k = -1; k <= 1; ++k) {
                    const Vec3 p = at + step * Vec3(i, j, k);
                    if (ratio(p) < least - 1e-12) best = p, least = ratio(p), better = true;
                }
        if (!better) step *= 0.5;
    }
    return least;
}

}  // namespace

TEST_CASE("one hole is a circle in a round normal: the Rayleigh distribution") {
    for (const double sigma : {0.05, 0.1, 0.2, 0.4}) {
        FitTerms t;
        t.covariance = MatX::Zero(3, 3);
        t.covariance(0, 0) = t.covariance(1, 1) = sigma * sigma;
        const auto f = fitChance({{{10, 20}, 3.4, 3.0}}, t);
        REQUIRE(f);
        const double p = 1 - std::exp(-0.5 * 0.2 * 0.2 / (sigma * sigma));
        CHECK(f->each[0] == Approx(p).margin(4 * f->sigmaOf(p)).epsilon(0));
        CHECK(f->all == f->each[0]);
        CHECK(f->shifted == 1.0);  // one screw can always be met
    }
    // What the counterpart adds counts like the survey's own, and so does play like clearance.
    FitTerms t;
    t.covariance = MatX::Zero(3, 3);
    t.made_sigma = 0.2;
    const auto f = fitChance({{{10, 20}, 3.2, 3.0, 0.1}}, t);
    const double p = 1 - std::exp(-0.5);
    CHECK(f->each[0] == Approx(p).margin(4 * f->sigmaOf(p)).epsilon(0));
}

TEST_CASE("two holes that may be shifted fit where their distance does") {
    for (const double sigma : {0.1, 0.25}) {
        FitTerms t;
        t.covariance = MatX::Identity(6, 6) * sigma * sigma;
        t.covariance(2, 2) = t.covariance(5, 5) = 0.0;
        const auto f = fitChance({{{0, 0}, 3.4, 3.0}, {{80, 0}, 3.6, 3.0}}, t);
        REQUIRE(f);
        // |ΔL| ≤ 0.2 + 0.3, ΔL normal with σ√2.
        const double p = std::erf(0.5 / (2 * sigma));
        CHECK(f->shifted == Approx(p).margin(4 * f->sigmaOf(p) + 1e-4).epsilon(0));
        const double one = 1 - std::exp(-0.5 * 0.04 / (sigma * sigma)),
                     other = 1 - std::exp(-0.5 * 0.09 / (sigma * sigma));
        CHECK(f->all == Approx(one * other).margin(4 * f->sigmaOf(one * other)).epsilon(0));
    }
}

TEST_CASE("a pattern of full covariance has the chances that draws of another kind find") {
    FitTerms t;
    t.covariance = linked(0.06);
    t.made_sigma = 0.02;
    const auto f = fitChance(four(), t);
    REQUIRE(f);
    const auto holes = four();
    std::vector<Vec2> places;
    for (const auto& h : holes) places.push_back(h.place);
    const MatX l = Eigen::LLT<MatX>(t.covariance).matrixL();
    std::mt19937 random(77);
    std::normal_distribution<double> normal;
    const int n = 5000;
    int all = 0, shifted = 0, differing = 0;
    std::vector<int> each(4, 0);
    for (int k = 0; k < n; ++k) {
        VecX z(12);
        for (double& v : z) v = normal(random);
        const VecX e = l * z;
        std::vector<Vec2> errors;
        std::vector<double> c;
        bool fits = true;
        for (std::size_t i = 0; i < 4; ++i) {
            const auto row = static_cast<Eigen::Index>(3 * i);
            errors.push_back(e.segment<2>(row) + 0.02 * Vec2(normal(random), normal(random)));
            c.push_back(0.5 * (3.4 + e[row + 2] - 3.0));
            each[i] += errors[i].norm() <= c[i];
            fits = fits && errors[i].norm() <= c[i];
        }
        all += fits;
        const bool ours = fitsShifted(places, errors, c);
        // A search that only compares may get stuck on a ridge, but never finds better than there is.
        const double least = searched(places, errors, c);
        if (least <= 1.0) CHECK(ours);
        differing += ours != (least <= 1.0);
        shifted += ours;
    }
    CHECK(differing <= n / 100);
    const auto near = [&](double ours, int count) {
        const double p = static_cast<double>(count) / n;
        return std::abs(ours - p) <
               4 * std::hypot(f->sigmaOf(ours), std::sqrt(std::max(p * (1 - p), 1.0 / n) / n));
    };
    for (std::size_t i = 0; i < 4; ++i) CHECK(near(f->each[i], each[i]));
    CHECK(near(f->all, all));
    CHECK(near(f->shifted, shifted));
    CHECK(f->all < f->shifted);
    CHECK(f->shifted < 0.999);
    // The same seed gives the same figures.
    CHECK(fitChance(four(), t)->shifted == f->shifted);
}

TEST_CASE("a pattern that is only moved or turned fits, and one that is stretched does not") {
    std::vector<Vec2> places, moved, stretched;
    for (const auto& h : four()) {
        places.push_back(h.place);
        moved.push_back(Vec2(3, -2) + 0.01 * Vec2(-h.place.y(), h.place.x()));
        stretched.push_back(0.01 * h.place);
    }
    const std::vector<double> c(4, 0.2);
    CHECK(fitsShifted(places, moved, c));
    CHECK_FALSE(fitsShifted(places, stretched, c));  // the corners miss by 0.01 · 58.3
    CHECK(fitsShifted(places, stretched, std::vector<double>(4, 0.01 * std::hypot(50, 30) * 1.0005)));
    CHECK_FALSE(fitsShifted(places, stretched, std::vector<double>(4, 0.01 * std::hypot(50, 30) * 0.9995)));
    CHECK_FALSE(fitsShifted(places, moved, {0.2, 0.2, 0.0, 0.2}));
}

TEST_CASE("a pattern without figures is refused in one sentence") {
    FitTerms t;
    t.covariance = MatX::Identity(12, 12) * 1e-4;
    CHECK(fitChance(four(), t));
    CHECK_FALSE(fitChance({}, t));
    CHECK_FALSE(fitChance({{{0, 0}, 3.4, 3.0}}, t));
    auto holes = four();
    holes[1].screw = 0.0;
    CHECK_FALSE(fitChance(holes, t));
    holes = four();
    holes[2].place.x() = std::numeric_limits<double>::quiet_NaN();
    CHECK_FALSE(fitChance(holes, t));
    FitTerms bad = t;
    bad.made_sigma = -1;
    CHECK_FALSE(fitChance(four(), bad));
    bad = t;
    bad.draws = 10;
    CHECK_FALSE(fitChance(four(), bad));
    bad = t;
    bad.covariance(0, 0) = -1;
    const auto negative = fitChance(four(), bad);
    REQUIRE_FALSE(negative);
    CHECK(negative.error().sentence().find("negative variance") != std::string::npos);
    // A screw too thick for its hole never goes in.
    holes = four();
    holes[0].screw = 3.5;
    FitTerms exact = t;
    exact.covariance.setZero();
    CHECK(fitChance(holes, exact)->all == 0.0);
    CHECK(fitChance(holes, exact)->shifted == 0.0);
    CHECK(fitChance(four(), exact)->all == 1.0);
}
