// SPDX-License-Identifier: GPL-3.0-or-later
// The growth of light as an unknown of a camera, on marks that were moved by a known one.
#include <catch2/catch.hpp>
#include <cmath>

#include "Bracket.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Report.h"

using namespace trammel;
using survey::Quantity;

namespace {

constexpr double kBlur_px = 1.3;

/// The bracket with its holes dark and fitted, their rims moved inwards by `share` of the blur.
survey::Survey grown(const test::Bracket& b, double share) {
    survey::Survey s = b.survey;
    s.groups[0].lightGrowth = {0.0, 0.35, survey::ConstantMode::Prior};
    for (survey::Mark& m : s.marks) {
        const survey::Feature& f = *find(s.features, m.feature);
        if (f.kind != survey::FeatureKind::Hole || f.level.empty()) continue;
        m.origin = survey::MarkOrigin::Fitted;
        const auto at = [&](std::size_t i) { return b.survey.marks[&m - s.marks.data()].points[i].px; };
        const std::size_t n = m.points.size();
        Vec2 middle = Vec2::Zero();
        for (std::size_t i = 0; i < n; ++i) middle += at(i) / static_cast<double>(n);
        for (std::size_t i = 0; i < n; ++i) {
            // Across an ellipse with evenly spread arguments the chord of the neighbours is its tangent.
            const Vec2 along = (at((i + 1) % n) - at((i + n - 1) % n)).normalized();
            const Vec2 across(-along.y(), along.x());
            m.points[i].growth_px = std::copysign(kBlur_px, across.dot(middle - at(i))) * across;
            m.points[i].px += share * m.points[i].growth_px;
        }
    }
    const auto read = [&](const char* id, const char* name, double diameter) {
        survey::Reading r;
        r.id = id, r.quantity = Quantity::Diameter, r.objects = {b.id(name)}, r.measured = {diameter, 0.005};
        s.readings.push_back(r);
    };
    read("R50", "origin", 6.0);
    s.dimensions = {{"D1", "axis hole", Quantity::Diameter, {b.id("axis")}},
                    {"D2", "depth", Quantity::Distance, {b.id("front"), b.id("rear")}}};
    return s;
}

double mmPerPx() { return 1200.0 / 30000.0; }

adjust::Solution solved(const survey::Survey& s, const adjust::Options& options = {}) {
    auto r = adjust::adjust(s, options);
    if (!r) FAIL(r.error().sentence());
    return std::move(*r);
}

}  // namespace

TEST_CASE("the growth of light is found from one diameter and taken off all others") {
    const test::Bracket b(0.0, 3);
    for (const double share : {0.3, -0.6}) {
        survey::Survey s = grown(b, share);
        s.groups[0].lightGrowth = {0.0, 0.0, survey::ConstantMode::Free};
        const adjust::Solution with = solved(s);
        REQUIRE(with.lightGrowths.size() == 1);
        CHECK(with.lightGrowths[0].share == Approx(share).margin(1e-3));
        CHECK(with.lightGrowths[0].perUnit_px == Approx(kBlur_px).epsilon(1e-9));
        CHECK(with.dimensions[0].value == Approx(6.0).margin(1e-3));
        CHECK(with.suspects.empty());
        // Rims of dark holes came out smaller by two growths.
        s.groups[0].lightGrowth = {0.0, 0.0, survey::ConstantMode::Fixed};
        s.readings.pop_back();
        const adjust::Solution without = solved(s);
        CHECK(without.lightGrowths.empty());
        CHECK(without.dimensions[0].value - 6.0 == Approx(-2.0 * share * kBlur_px * mmPerPx()).epsilon(0.1));
    }
}

TEST_CASE("marks that do not know their growth leave the adjustment as it was") {
    const test::Bracket b(0.2, 4);
    survey::Survey s = b.survey;
    const adjust::Solution plain = solved(s);
    CHECK(plain.lightGrowths.empty());
    s.groups[0].lightGrowth = {0.4, 0.1, survey::ConstantMode::Free};
    const adjust::Solution other = solved(s);
    CHECK(other.global.degreesOfFreedom == plain.global.degreesOfFreedom);
    for (const auto& [id, f] : plain.features) CHECK((other.features.at(id).point - f.point).norm() < 1e-9);
}

TEST_CASE("a fixed growth is taken off, and a prior is an observation like any other") {
    const test::Bracket b(0.0, 3);
    survey::Survey s = grown(b, 0.3);
    s.readings.pop_back();
    s.groups[0].lightGrowth = {0.3, 0.0, survey::ConstantMode::Fixed};
    const adjust::Solution fixed = solved(s);
    CHECK(fixed.dimensions[0].value == Approx(6.0).margin(1e-4));
    s.groups[0].lightGrowth = {0.3, 0.1, survey::ConstantMode::Prior};
    const adjust::Solution prior = solved(s);
    CHECK(prior.dimensions[0].value == Approx(6.0).margin(1e-3));
    CHECK(prior.dimensions[0].plusMinus > fixed.dimensions[0].plusMinus);
    CHECK(prior.global.degreesOfFreedom == fixed.global.degreesOfFreedom);
}

TEST_CASE("an adjustment that starts from an earlier one keeps its growth of light") {
    const test::Bracket b(0.2, 5);
    survey::Survey s = grown(b, 0.3);
    const adjust::Solution first = solved(s);
    s.readings[0].measured.value += 0.003;
    adjust::Options options;
    options.previous = std::make_shared<adjust::Solution>(first);
    const adjust::Solution warm = solved(s, options), cold = solved(s);
    REQUIRE(warm.lightGrowths.size() == 1);
    CHECK(warm.lightGrowths[0].share == Approx(cold.lightGrowths[0].share).margin(1e-6));
    CHECK(warm.dimensions[0].value == Approx(cold.dimensions[0].value).margin(1e-7));
}

TEST_CASE("the report says how far light grows, and what would tell it where nothing does") {
    const test::Bracket b(0.05, 6);
    survey::Survey s = grown(b, 0.3);
    const adjust::Solution told = solved(s);
    const std::string report = adjust::reportText(s, told);
    INFO(report);
    CHECK(report.find("light grows over dark by 0.") != std::string::npos);
    CHECK(report.find("towards the dark. The dimensions are corrected for it.") != std::string::npos);
    CHECK(report.find("How far light grows") == std::string::npos);
    s.readings.pop_back();
    // Poor marks, for an ellipse's flattening tells a little of the growth.
    for (survey::Mark& m : s.marks)
        for (survey::MarkPoint& p : m.points) p.sigma_px = 1.0;
    const std::string vague = adjust::reportText(s, solved(s));
    INFO(vague);
    CHECK(vague.find("How far light grows over dark in the photographs of") != std::string::npos);
    CHECK(vague.find("it weakens axis hole") != std::string::npos);
    CHECK(vague.find("with the caliper.") != std::string::npos);
}
