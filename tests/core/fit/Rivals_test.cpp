// SPDX-License-Identifier: GPL-3.0-or-later
// Chamfered edges and rims, which show two lines: both are handed out, the user or the feature decides.
#include "core/fit/Rivals.h"

#include <catch2/catch.hpp>

#include "Pictures.h"
#include "core/fit/EdgeFit.h"
#include "core/fit/RefineSurvey.h"
#include "core/fit/TransitionSide.h"

using namespace trammel;
using namespace pictures;
using fit::FitOptions;
using survey::Transition;

namespace {

constexpr double kUpper = 60.2, kLower = 65.6;  // y of the two lines
constexpr double kBlur = 0.8;

/// Light face above, darker chamfer, dark ground below.
LinearImage chamfer() {
    const auto a = halfPlane(Vec2(0, -1), -kUpper, 0.0, 0.35, kBlur),
               b = halfPlane(Vec2(0, -1), -kLower, 0.0, 0.25, kBlur);
    return take(
        240, 120, [&](const Vec2& p) { return 0.05 + a(p) + b(p); }, {0.004, true, 3}, 4);
}

const Vec2 kFrom(20, 63), kTo(220, 62.5);

double meanY(const fit::Fit& f) {
    double sum = 0.0;
    for (const auto& p : f.points) sum += p.px.y() / static_cast<double>(f.points.size());
    return sum;
}

const Vec2 kHole(120.3, 110.4);
constexpr double kBore = 40.0, kRim = 45.5;

/// A countersunk hole: dark bore, a ring of middling light, a light face.
LinearImage countersink() {
    const auto bore = disc(kHole, kBore, 1.0, 0.0, kBlur), rim = disc(kHole, kRim, 1.0, 0.0, kBlur);
    return take(
        240, 220, [&](const Vec2& p) { return 0.7 - 0.3 * rim(p) - 0.35 * bore(p); }, {0.004, true, 5}, 4);
}

std::vector<Vec2> rimAt(double radius) {
    std::vector<Vec2> rim;
    for (int i = 0; i < 8; ++i) rim.push_back(kHole + radius * Vec2(std::cos(0.8 * i), std::sin(0.8 * i)));
    return rim;
}

double meanRadius(const fit::Fit& f) {
    double sum = 0.0;
    for (const auto& p : f.points) sum += (p.px - kHole).norm() / static_cast<double>(f.points.size());
    return sum;
}

}  // namespace

TEST_CASE("A stroke between two lines is refused with both, and fitted to the one chosen") {
    const LinearImage picture = chamfer();
    std::vector<fit::Rival> rivals;
    const auto refused = fit::fitEdge(picture, kFrom, kTo, {}, &rivals);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().sentence().find("apart may be meant") != std::string::npos);
    REQUIRE(rivals.size() == 2);
    std::vector<double> seen;
    for (const fit::Rival& r : rivals) {
        REQUIRE(r.line.size() >= 2);
        CHECK(r.line.front().x() == Approx(kFrom.x()).margin(0.5));
        CHECK(r.sense == -1.0);  // from left to right, with y down, the dark ground lies on the right
        CHECK(fit::tell(r).find("lighter above") != std::string::npos);
        FitOptions o;
        o.chosen[0] = r;
        const auto f = fit::fitEdge(picture, kFrom, kTo, o);
        REQUIRE(f);
        seen.push_back(meanY(*f));
        CHECK(std::abs(r.line[r.line.size() / 2].y() - seen.back()) < 1.0);
    }
    std::sort(seen.begin(), seen.end());
    CHECK(seen[0] == Approx(kUpper).margin(0.1));
    CHECK(seen[1] == Approx(kLower).margin(0.1));
    CHECK(fit::tellAll(rivals).substr(0, 3) == "A (");
    CHECK(fit::tellAll(rivals).find("; B (") != std::string::npos);
}

TEST_CASE("A chosen line that the picture does not hold is refused, not replaced") {
    std::vector<fit::Rival> rivals;
    REQUIRE_FALSE(fit::fitEdge(chamfer(), kFrom, kTo, {}, &rivals));
    FitOptions o;
    o.chosen[0] = rivals[0];
    for (Vec2& p : o.chosen[0]->line) p.y() += 12.0;
    CHECK_FALSE(fit::fitEdge(chamfer(), kFrom, kTo, o));
    o.chosen[0] = rivals[0];
    o.chosen[0]->sense = 1.0;
    CHECK_FALSE(fit::fitEdge(chamfer(), kFrom, kTo, o));
}

TEST_CASE("What the hand cannot have meant is refused also where the user or the side has chosen") {
    const LinearImage picture = chamfer();
    std::vector<fit::Rival> rivals;
    REQUIRE_FALSE(fit::fitEdge(picture, kFrom, kTo, {}, &rivals));
    FitOptions o;
    o.searchRadius_px = 12.0;
    for (const fit::Rival& r : rivals) {
        o.chosen[0] = r;
        const double y = r.line[r.line.size() / 2].y() + (r.line[0].y() < 63 ? -9.0 : 9.0);
        const auto f = fit::fitEdge(picture, Vec2(20, y), Vec2(220, y), o);
        REQUIRE_FALSE(f);
        CHECK(f.error().sentence().find("px away") != std::string::npos);
    }
    FitOptions steady;  // a hand that errs by half a pixel points at neither line
    steady.handSigma_px = 0.5;
    steady.transition = Transition::Inner;
    steady.inside = Vec2(120, 20);
    const auto f = fit::fitEdge(picture, Vec2(20, 62.9), Vec2(220, 62.9), steady);
    REQUIRE_FALSE(f);
    CHECK(f.error().sentence().find("px away") != std::string::npos);
}

TEST_CASE("One rim clicked unsteadily is not offered twice") {
    std::mt19937 random(31);
    std::normal_distribution<double> gauss;
    const Vec2 centre(60.3, 59.8);
    const double radius = 32.0;
    int asked = 0, alike = 0, fitted = 0;
    for (int k = 0; k < 60; ++k) {
        const auto picture = take(120, 120, disc(centre, radius, 0.3, 0.5, 1.7),
                                  {0.015, true, static_cast<unsigned>(random())}, 2);
        std::vector<Vec2> hand;
        for (int i = 0; i < 6; ++i)
            hand.push_back(centre + radius * Vec2(std::cos(i), std::sin(i)) +
                           3.5 * Vec2(gauss(random), gauss(random)));
        FitOptions o;
        o.handSigma_px = 3.5;
        o.searchRadius_px = 12.0;
        std::vector<fit::Rival> rivals;
        fitted += fit::fitRim(picture, hand, true, o, &rivals) ? 1 : 0;
        if (rivals.size() < 2) continue;
        ++asked;
        std::vector<double> seen;
        for (const fit::Rival& r : rivals) {
            o.chosen[0] = r;
            const auto f = fit::fitRim(picture, hand, true, o);
            if (f && std::abs((f->points[0].px - centre).norm() - radius) < 0.5)
                seen.push_back((f->points[0].px - centre).norm());
        }
        alike += seen.size() > 1 ? 1 : 0;
    }
    INFO(asked << " asked, " << alike << " of them about one rim; fitted " << fitted);
    CHECK(alike <= 3);  // 19 without the merging
    CHECK(fitted >= 50);
}

TEST_CASE("The side of the transition decides between two lines of an edge") {
    const LinearImage picture = chamfer();
    for (const bool above : {true, false})
        for (const Transition side : {Transition::Inner, Transition::Outer}) {
            FitOptions o;
            o.transition = side;
            o.inside = Vec2(120, above ? 20 : 100);
            const auto f = fit::fitEdge(picture, kFrom, kTo, o);
            REQUIRE(f);
            const bool upper = above == (side == Transition::Inner);
            CHECK(meanY(*f) == Approx(upper ? kUpper : kLower).margin(0.1));
            // The way the stroke was drawn means nothing.
            const auto back = fit::fitEdge(picture, kTo, kFrom, o);
            REQUIRE(back);
            CHECK(meanY(*back) == Approx(meanY(*f)).margin(0.02));
        }
    FitOptions nowhere;
    nowhere.transition = Transition::Inner;  // where the middle lies is not known: asked
    CHECK_FALSE(fit::fitEdge(picture, kFrom, kTo, nowhere));
}

TEST_CASE("The side of the transition decides between bore and rim of a countersunk hole") {
    const LinearImage picture = countersink();
    std::vector<fit::Rival> rivals;
    const auto rim = rimAt(0.5 * (kBore + kRim));
    REQUIRE_FALSE(fit::fitRim(picture, rim, true, {}, &rivals));
    REQUIRE(rivals.size() == 2);
    CHECK((rivals[0].rim && rivals[0].sense == 1.0));
    for (const fit::Rival& r : rivals) {
        FitOptions o;
        o.chosen[0] = r;
        const auto f = fit::fitRim(picture, rim, true, o);
        REQUIRE(f);
        CHECK(meanRadius(*f) == Approx((r.line[0] - kHole).norm()).margin(0.8));
    }
    FitOptions o;
    o.transition = Transition::Inner;
    const auto inner = fit::fitRim(picture, rim, true, o);
    REQUIRE(inner);
    CHECK(meanRadius(*inner) == Approx(kBore).margin(0.1));
    o.transition = Transition::Outer;
    const auto outer = fit::fitRim(picture, rim, true, o);
    REQUIRE(outer);
    CHECK(meanRadius(*outer) == Approx(kRim).margin(0.1));
}

namespace {

/// The chamfered edge as a survey: two ends of a known length tell the scale, 4 px/mm.
survey::Survey surveyOf(Transition transition, double width_mm) {
    survey::Survey s;
    s.groups.push_back({});
    s.groups[0].id = "G1";
    s.stations.push_back({"S1", "top", survey::View::Top, {}, "G1", 0.0, false});
    s.levels.push_back({"L1", "plate"});
    s.features = {{"F1", "E1", survey::FeatureKind::Edge, "L1", transition, width_mm},
                  {"F2", "C1", survey::FeatureKind::Corner, "L1"},
                  {"F3", "C2", survey::FeatureKind::Corner, "L1"},
                  {"F4", "C3", survey::FeatureKind::Corner, "L1"}};
    const auto mark = [&](const survey::Id& id, const survey::Id& f, const std::vector<Vec2>& points) {
        survey::Mark m;
        m.id = id, m.station = "S1", m.feature = f;
        for (const Vec2& p : points) m.points.push_back({p, 1.5});
        s.marks.push_back(m);
    };
    mark("M1", "F1", {kFrom, kTo});
    mark("M2", "F2", {Vec2(20, 20)});
    mark("M3", "F3", {Vec2(220, 20)});
    mark("M4", "F4", {Vec2(120, 10)});
    survey::Reading r;
    r.id = "R1", r.objects = {"F2", "F3"}, r.measured = {50.0, 0.05}, r.reference = true;
    s.readings.push_back(r);
    return s;
}

fit::RefineResult refined(const survey::Survey& s, fit::RefineOptions o = {}) {
    o.onlyMarks = {"M1"};
    return fit::refine(
        s, [](const survey::Station&) { return Result<LinearImage>(chamfer()); }, o);
}

survey::Mark fittedMark(const fit::RefineResult& r) {
    REQUIRE(r.edit.changes.size() == 1);
    return std::get<survey::Put<survey::Mark>>(r.edit.changes[0]).object;
}

}  // namespace

TEST_CASE("A survey's refusal carries the rivals, and its next try the choice") {
    const fit::RefineResult first = refined(surveyOf(Transition::Sharp, 0.0));
    REQUIRE(first.refusals.size() == 1);
    const auto& rivals = first.refusals[0].rivals;
    REQUIRE(rivals.size() == 2);
    CHECK(first.refusals[0].why.find("may be meant: A (") != std::string::npos);
    for (const fit::Rival& r : rivals) {
        fit::RefineOptions o;
        o.chosen["M1"][0] = r;
        const survey::Mark m = fittedMark(refined(surveyOf(Transition::Sharp, 0.0), o));
        CHECK(std::abs(m.points[0].px.y() - r.line[0].y()) < 1.0);
    }
    CHECK(fittedMark(refined(surveyOf(Transition::Inner, 0.0))).points[0].px.y() ==
          Approx(kUpper).margin(0.15));
    CHECK(fittedMark(refined(surveyOf(Transition::Outer, 0.0))).points[0].px.y() ==
          Approx(kLower).margin(0.15));
}

TEST_CASE("The width of a rounding is a doubt that all points of its mark share") {
    const double width = 2.0, scale = 200.0 / 50.0;  // mm, px/mm
    const survey::Mark m = fittedMark(refined(surveyOf(Transition::Round, width)));
    double weight = 0.0;
    for (const auto& p : m.points) weight += 1.0 / (p.sigma_px * p.sigma_px);
    const double common = width * scale / std::sqrt(12.0);
    CHECK(1.0 / std::sqrt(weight) == Approx(common).epsilon(0.1));
    // Of two known lengths the foreshortened one does not tell.
    survey::Survey leaning = surveyOf(Transition::Round, width);
    leaning.readings.push_back(leaning.readings[0]);
    leaning.readings[1].id = "R2", leaning.readings[1].objects = {"F3", "F4"};
    leaning.readings[1].measured.value = 200.0;
    leaning.readings.push_back(leaning.readings[1]);
    leaning.readings[2].id = "R3";
    CHECK(fit::scaleIn(leaning, "S1").value() == Approx(scale));
    const fit::RefineResult wide = refined(surveyOf(Transition::Round, 50.0));
    REQUIRE(wide.refusals.size() == 1);
    CHECK(wide.refusals[0].why.find("50 mm wide is 200 px here") != std::string::npos);
    // A scale known from a solution goes before the lengths in the picture.
    fit::RefineOptions o;
    o.scale_px_per_mm["S1"] = 8.0;
    weight = 0.0;
    for (const auto& p : fittedMark(refined(surveyOf(Transition::Round, width), o)).points)
        weight += 1.0 / (p.sigma_px * p.sigma_px);
    CHECK(1.0 / std::sqrt(weight) == Approx(2.0 * common).epsilon(0.1));
    // Narrower than the two lines lie apart: it is no longer one rounding.
    CHECK(refined(surveyOf(Transition::Round, 0.5)).refusals.at(0).rivals.size() == 2);
    survey::Survey unscaled = surveyOf(Transition::Round, width);
    unscaled.readings.clear();
    CHECK(refined(unscaled).refusals.at(0).why.find("known length") != std::string::npos);
}

TEST_CASE("An arc among rivals is told by its ends, a rim by its middle") {
    fit::Rival r;
    r.rim = true;
    for (int i = 0; i <= 20; ++i) {
        const double a = 0.5 * std::numbers::pi * i / 20.0;
        r.line.push_back(Vec2(100, 200) + 50.0 * Vec2(std::cos(a), std::sin(a)));
    }
    CHECK(fit::tell(r) == "(150.0, 200.0) by (135.4, 235.4) to (100.0, 250.0), lighter outside");
    r.line.clear();
    for (int i = 0; i <= 20; ++i) {
        const double a = 2.0 * std::numbers::pi * i / 20.0;
        r.line.push_back(Vec2(100, 200) + 50.0 * Vec2(std::cos(a), std::sin(a)));
    }
    CHECK(fit::tell(r).find("50.0 px from its middle") != std::string::npos);
}
