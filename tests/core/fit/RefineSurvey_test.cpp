// SPDX-License-Identifier: GPL-3.0-or-later
// A small invented survey whose one photograph is computed here: a bright plate with a hole in a dark field.
#include "core/fit/RefineSurvey.h"

#include <catch2/catch.hpp>

#include "Pictures.h"

using namespace trammel;
using namespace pictures;
using survey::FeatureKind;
using survey::MarkOrigin;

namespace {

const Vec2 kLow(40.3, 50.6), kHigh(180.7, 160.2), kHole(110.4, 105.3);
constexpr double kRadius = 17.0, kBlur = 0.9;

LinearImage plate() {
    const auto hole = disc(kHole, kRadius, 1.0, 0.0, kBlur);
    return take(
        220, 210,
        [&](const Vec2& p) {
            const double k = 1.0 / (kBlur * std::numbers::sqrt2);
            const double x = 0.5 * (std::erfc((kLow.x() - p.x()) * k) - std::erfc((kHigh.x() - p.x()) * k));
            const double y = 0.5 * (std::erfc((kLow.y() - p.y()) * k) - std::erfc((kHigh.y() - p.y()) * k));
            return 0.05 + 0.4 * x * y * (1.0 - hole(p));
        },
        {0.005, true, 8}, 4);
}

survey::Survey surveyOf(unsigned seed, double hand) {
    survey::Survey s;
    s.stations.push_back({"S1", "top", survey::View::Top, {}, "", 0.0, false});
    s.groups.push_back({});
    s.groups[0].id = "G1";
    s.stations[0].group = "G1";
    s.levels.push_back({"L1", "plate"});
    s.features = {{"F1", "E1", FeatureKind::Edge, "L1"},   {"F2", "E2", FeatureKind::Edge, "L1"},
                  {"F3", "C1", FeatureKind::Corner, "L1"}, {"F4", "H1", FeatureKind::Hole, "L1"},
                  {"F5", "C2", FeatureKind::Corner, "L1"}, {"F6", "nothing", FeatureKind::Edge, "L1"}};
    std::mt19937 random(seed);
    std::normal_distribution<double> gauss;
    auto add = [&](const survey::Id& id, const survey::Id& feature, const std::vector<Vec2>& points) {
        survey::Mark m;
        m.id = id;
        m.station = "S1";
        m.feature = feature;
        for (const Vec2& p : points)
            m.points.push_back({p + hand * Vec2(gauss(random), gauss(random)), hand});
        s.marks.push_back(m);
    };
    add("M1", "F1", {Vec2(kLow.x() + 8, kLow.y()), Vec2(kHigh.x() - 8, kLow.y())});
    add("M2", "F2", {Vec2(kLow.x(), kLow.y() + 8), Vec2(kLow.x(), kHigh.y() - 8)});
    add("M3", "F3", {kLow});
    std::vector<Vec2> rim;
    for (int i = 0; i < 5; ++i) rim.push_back(kHole + kRadius * Vec2(std::cos(1.3 * i), std::sin(1.3 * i)));
    add("M4", "F4", rim);
    add("M5", "F5", {kHigh});  // its edges are not marked: found in the picture
    add("M6", "F6", {Vec2(60, 70), Vec2(80, 140)});
    return s;
}

}  // namespace

TEST_CASE("Every hand mark of a survey is fitted or refused, by one edit that can be undone") {
    const LinearImage picture = plate();
    int asked = 0;
    const auto provider = [&](const survey::Station&) -> Result<LinearImage> {
        ++asked;
        return picture;
    };
    for (unsigned seed = 1; seed <= 10; ++seed) {
        survey::Survey s = surveyOf(seed, 1.5);
        const survey::Survey before = s;
        asked = 0;
        const fit::RefineResult r = fit::refine(s, provider);
        CHECK(asked == 1);
        CHECK(r.tried == 6);
        CHECK(r.fitted == 5);
        REQUIRE(r.refusals.size() == 1);
        CHECK(r.refusals[0].mark == "M6");
        CHECK(r.refusals[0].why.back() == '.');
        const auto inverse = survey::apply(s, r.edit);
        REQUIRE(inverse);
        const auto mark = [&](const survey::Id& id) { return *survey::find(s.marks, id); };
        CHECK(mark("M1").origin == MarkOrigin::Fitted);
        CHECK(mark("M1").points.size() == 4);
        for (const auto& p : mark("M1").points) CHECK(std::abs(p.px.y() - kLow.y()) < 0.05);
        for (const auto& p : mark("M2").points) CHECK(std::abs(p.px.x() - kLow.x()) < 0.05);
        REQUIRE(mark("M3").points.size() == 1);
        CHECK((mark("M3").points[0].px - kLow).norm() < 0.08);
        CHECK(mark("M4").points.size() == 12);
        for (const auto& p : mark("M4").points) CHECK(std::abs((p.px - kHole).norm() - kRadius) < 0.12);
        CHECK((mark("M5").points[0].px - kHigh).norm() < 0.1);
        CHECK(mark("M6").origin == MarkOrigin::Hand);
        CHECK(mark("M6") == *survey::find(before.marks, "M6"));
        // Fitted marks are left alone the second time.
        const fit::RefineResult again = fit::refine(s, provider);
        CHECK(again.tried == 1);
        REQUIRE(survey::apply(s, *inverse));
        CHECK(s == before);
    }
}

TEST_CASE("A photograph that cannot be had leaves its marks as they are and says so once") {
    const survey::Survey s = surveyOf(1, 1.5);
    const auto provider = [](const survey::Station&) -> Result<LinearImage> {
        return Error{ErrorCode::FileMissing, "no such photograph", "top.jpg", "put it back"};
    };
    const fit::RefineResult r = fit::refine(s, provider);
    CHECK(r.fitted == 0);
    CHECK(r.edit.changes.empty());
    CHECK(r.photographs.size() == 1);
    CHECK(r.refusals.size() == 6);
}

TEST_CASE("Fitting stops when it is cancelled, and marks without sense are refused") {
    const LinearImage picture = plate();
    const auto provider = [&](const survey::Station&) -> Result<LinearImage> { return picture; };
    survey::Survey s = surveyOf(1, 1.5);
    Progress progress;
    progress.cancel();
    CHECK(fit::refine(s, provider, {}, &progress).tried == 0);
    s.marks[0].points.resize(1);
    s.marks[1].points[0].px.x() = std::numeric_limits<double>::quiet_NaN();
    s.marks[2].points.clear();
    s.marks[3].points.resize(2);
    s.marks[4].feature = "F99";
    s.marks[5].excluded = true;
    const fit::RefineResult r = fit::refine(s, provider);
    CHECK(r.tried == 5);
    CHECK(r.fitted == 0);
    CHECK(r.refusals.size() == 5);
}

TEST_CASE("A mark or rounding that cannot be meant is refused, not made sound by a fit") {
    const LinearImage picture = plate();
    survey::Survey s = surveyOf(1, 1.5);
    s.stations[0].photo.width = picture.width, s.stations[0].photo.height = picture.height;
    s.marks[0].points[0].sigma_px = -1.0;
    s.features[3].kind = FeatureKind::Curve;  // its way would be of a thousand million samples
    s.marks[3].points[0].px.x() = 1e9;
    s.features[1].transition = survey::Transition::Round;
    const auto r =
        fit::refine(s, [&](const survey::Station&) -> Result<LinearImage> { return LinearImage(picture); });
    for (const survey::Id id : {"M1", "M2", "M4"})
        CHECK(std::any_of(r.refusals.begin(), r.refusals.end(),
                          [&](const fit::Refusal& one) { return one.mark == id; }));
    CHECK(r.fitted >= 1);
}

TEST_CASE("In an even picture no edge is told of") {
    const auto even = take(220, 210, [](const Vec2&) { return 0.2159; }, {0.0, false, 1});
    const survey::Survey s = surveyOf(1, 1.5);
    const auto r =
        fit::refine(s, [&](const survey::Station&) -> Result<LinearImage> { return LinearImage(even); });
    CHECK(r.fitted == 0);
    for (const fit::Refusal& one : r.refusals) {
        INFO(one.why);
        CHECK(one.why.find("clear edge") == std::string::npos);
    }
}
