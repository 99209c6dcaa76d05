// SPDX-License-Identifier: GPL-3.0-or-later
// Offers in pictures with known truth: the meant edge, a refusal, or a doubt; never another edge in silence.
#include "core/fit/Propose.h"

#include <catch2/catch.hpp>

#include "Pictures.h"

using namespace trammel;
using namespace pictures;
using fit::Standing;
using survey::FeatureKind;

namespace {

constexpr double kBlur = 0.9;

/// Light stripes above dark ground: steps of light at these heights, alternating.
LinearImage stripes(const std::vector<double>& at) {
    return take(
        300, 200,
        [&](const Vec2& p) {
            double light = 0.1, sign = 1.0;
            for (const double y : at) {
                light += sign * 0.25 * std::erfc((y - p.y()) / (kBlur * std::numbers::sqrt2));
                sign = -sign;
            }
            return light;
        },
        {0.004, true, 9}, 4);
}

survey::Survey surveyOf(int edges) {
    survey::Survey s;
    s.groups.push_back({});
    s.groups[0].id = "G1";
    survey::Station st;
    st.id = "S1", st.name = "top", st.group = "G1";
    s.stations.push_back(st);
    s.levels.push_back({"L1", "plate"});
    for (int i = 1; i <= edges; ++i)
        s.features.push_back({"F" + std::to_string(i), "E" + std::to_string(i), FeatureKind::Edge, "L1"});
    return s;
}

survey::Prediction edgeAt(const survey::Id& feature, double y, double sigma) {
    survey::Prediction p;
    p.station = "S1", p.feature = feature;
    for (int i = 0; i <= 4; ++i) p.points.push_back({Vec2(40 + 55 * i, y), sigma});
    p.covariance = MatX::Constant(5, 5, sigma * sigma);
    return p;
}

std::vector<fit::Offer> offersIn(const LinearImage& picture, const survey::Survey& s,
                                 const std::vector<survey::Prediction>& at) {
    const auto r =
        fit::proposeMarks(s, "S1", at, [&](const survey::Station&) { return Result<LinearImage>(picture); });
    REQUIRE(r);
    return *r;
}

double yOf(const fit::Offer& o) {
    double sum = 0.0;
    for (const auto& p : o.mark.points) sum += p.px.y() / static_cast<double>(o.mark.points.size());
    return sum;
}

}  // namespace

TEST_CASE("A lone edge near its prediction is offered as sure, with the σ of a fit") {
    const auto picture = stripes({60.3, 120.6});
    const auto offers = offersIn(picture, surveyOf(2), {edgeAt("F1", 61.0, 0.8), edgeAt("F2", 120.0, 0.8)});
    REQUIRE(offers.size() == 2);
    for (const auto& o : offers) {
        INFO(o.why);
        CHECK(o.standing == Standing::Sure);
        CHECK(o.why.empty());
        CHECK(o.chance > 0.1);
        CHECK(o.mark.points.size() == 4);
        CHECK(o.mark.origin == survey::MarkOrigin::Fitted);
        CHECK(o.mark.id.empty());
        for (const auto& p : o.mark.points) CHECK(p.sigma_px < 0.1);
    }
    CHECK(yOf(offers[0]) == Approx(60.3).margin(0.05));
    CHECK(yOf(offers[1]) == Approx(120.6).margin(0.05));
}

TEST_CASE("Two edges within the doubt of a prediction are shown, and the chosen one is fitted") {
    const auto picture = stripes({60.3, 64.8});
    const survey::Survey s = surveyOf(1);
    const auto offers = offersIn(picture, s, {edgeAt("F1", 62.3, 1.2)});
    REQUIRE(offers.size() == 1);
    CHECK(offers[0].standing == Standing::Unsure);
    CHECK(offers[0].mark.points.empty());
    REQUIRE(offers[0].rivals.size() == 2);
    for (const fit::Rival& r : offers[0].rivals) {
        const auto taken = fit::takeRival(
            s, offers[0], r, [&](const survey::Station&) { return Result<LinearImage>(picture); });
        REQUIRE(taken);
        CHECK(std::abs(taken->points[0].px.y() - r.line[0].y()) < 1.0);
    }
}

TEST_CASE("An edge that misses its prediction by more than chance allows is unsure") {
    const auto offers = offersIn(stripes({60.3}), surveyOf(1), {edgeAt("F1", 61.5, 0.3)});
    REQUIRE(offers.size() == 1);
    CHECK(offers[0].standing == Standing::Unsure);
    CHECK(yOf(offers[0]) == Approx(60.3).margin(0.05));
    CHECK(offers[0].chance < 0.001);
    CHECK(offers[0].why.find("misses") != std::string::npos);
}

TEST_CASE("Two features expected at one edge of the picture are both unsure, and name each other") {
    const auto offers =
        offersIn(stripes({60.3}), surveyOf(2), {edgeAt("F1", 59.4, 1.0), edgeAt("F2", 61.3, 1.0)});
    REQUIRE(offers.size() == 2);
    for (int k = 0; k < 2; ++k) {
        CHECK(offers[k].standing == Standing::Unsure);
        CHECK(offers[k].others == std::vector<survey::Id>{offers[1 - k].expected.feature});
        CHECK(offers[k].why.find(k ? "E1" : "E2") != std::string::npos);
    }
    // One of them marked elsewhere in this photograph already: the edge is the other's.
    survey::Survey s = surveyOf(2);
    survey::Mark m;
    m.id = "M1", m.station = "S1", m.feature = "F2", m.origin = survey::MarkOrigin::Fitted;
    m.points = {{Vec2(40, 75), 0.05}, {Vec2(260, 75), 0.05}};
    s.marks.push_back(m);
    const auto one = offersIn(stripes({60.3, 75.0}), s, {edgeAt("F1", 59.9, 1.0), edgeAt("F2", 61.3, 1.0)});
    REQUIRE(one.size() == 1);
    CHECK(one[0].standing == Standing::Sure);
    CHECK(one[0].expected.feature == "F1");
}

TEST_CASE("Nothing there, or a place known too badly, is refused with a sentence") {
    const auto offers =
        offersIn(stripes({60.3}), surveyOf(2), {edgeAt("F1", 150.0, 0.8), edgeAt("F2", 60.0, 9.0)});
    REQUIRE(offers.size() == 2);
    for (const auto& o : offers) {
        CHECK(o.standing == Standing::None);
        CHECK(o.mark.points.empty());
        CHECK(o.why.back() == '.');
    }
    CHECK(offers[1].why.find("± 18 px") != std::string::npos);
    // Known a little badly: found, but the user has to look.
    const auto rough = offersIn(stripes({60.3}), surveyOf(1), {edgeAt("F1", 61.0, 2.5)});
    CHECK(rough[0].standing == Standing::Unsure);
    CHECK(yOf(rough[0]) == Approx(60.3).margin(0.05));
}

TEST_CASE("A round hole is offered, and stopping gives nothing") {
    const Vec2 middle(150.4, 100.2);
    const auto hole = disc(middle, 40.0, 1.0, 0.0, kBlur);
    const auto picture = take(
        300, 200, [&](const Vec2& p) { return 0.6 - 0.5 * hole(p); }, {0.004, true, 2}, 4);
    survey::Survey s = surveyOf(1);
    s.features[0].kind = FeatureKind::Hole;
    survey::Prediction p;
    p.station = "S1", p.feature = "F1";
    for (int i = 0; i < 24; ++i) {
        const double a = std::numbers::pi * i / 12.0;
        p.points.push_back({middle + Vec2(0.9, -0.5) + 40.0 * Vec2(std::cos(a), std::sin(a)), 1.0});
    }
    p.covariance = MatX::Identity(24, 24);
    const auto offers = offersIn(picture, s, {p});
    REQUIRE(offers.size() == 1);
    INFO(offers[0].why);
    CHECK(offers[0].standing == Standing::Sure);
    for (const auto& q : offers[0].mark.points) CHECK((q.px - middle).norm() == Approx(40.0).margin(0.1));
    Progress stop;
    stop.cancel();
    const auto none = fit::proposeMarks(
        s, "S1", {p}, [&](const survey::Station&) { return Result<LinearImage>(picture); }, {}, &stop);
    REQUIRE_FALSE(none);
    CHECK(none.error().code == ErrorCode::Cancelled);
    const auto lost = fit::proposeMarks(s, "S1", {p}, [&](const survey::Station&) {
        return Result<LinearImage>(Error{ErrorCode::FileMissing, "gone", "top.jpg", ""});
    });
    REQUIRE_FALSE(lost);
    CHECK(lost.error().code == ErrorCode::FileMissing);
}
