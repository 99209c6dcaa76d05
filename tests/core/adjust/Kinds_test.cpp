// SPDX-License-Identifier: GPL-3.0-or-later
// Every kind of feature and of level against an invented bracket whose truth is known in closed form.
#include <fmt/core.h>
#include <catch2/catch.hpp>

#include "Bracket.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Covariance.h"

using namespace trammel;
using namespace trammel::adjust;
using survey::FeatureKind;
using survey::Quantity;
using test::Bracket;

namespace {

struct Wanted {
    std::string name;
    Quantity quantity;
    std::vector<std::string> objects;
    double truth;
};

std::vector<Wanted> wanted() {
    const double ridge = std::hypot(std::hypot(80.0, 30.0), 9.0);
    // Distance of the apex from the ridge, by hand: |(apex − a) × u|.
    const Vec3 a(10, 12, 4), u = Vec3(80, 30, 9) / ridge, d = Vec3(40, 33, 21) - a;
    const double apexRidge = (d - u * u.dot(d)).norm();
    return {
        {"slot width", Quantity::Diameter, {"slot"}, 8.0},
        {"slot length", Quantity::Length, {"slot"}, std::hypot(25.0, 4.0) + 8.0},
        {"slot to shelf corner", Quantity::OffsetX, {"shelf 1", "slot"}, 27.5},
        {"bore", Quantity::Diameter, {"bore"}, 10.0},
        {"bore height", Quantity::Height, {"bore"}, 11.0},
        {"bore x", Quantity::OffsetX, {"origin", "bore"}, 75.0},
        {"apex above ridge", Quantity::Distance, {"apex", "ridge"}, apexRidge},
        {"fillet", Quantity::Radius, {"fillet"}, 6.0},
        {"shelf corner", Quantity::Height, {"shelf 2"}, Bracket::shelfZ(80, 10)},
        {"lid middle", Quantity::Height, {"lid 9"}, Bracket::lidZ(50, 30)},
        {"lid corner", Quantity::Height, {"lid 3"}, Bracket::lidZ(90, 55)},
        {"span over holes", Quantity::OuterSpan, {"origin", "axis"}, 106.0},
        {"web between holes", Quantity::InnerSpan, {"origin", "axis"}, 94.0},
        {"corner angle", Quantity::Angle, {"base 1", "origin", "axis"}, std::numbers::pi / 2},
        {"left to front", Quantity::Angle, {"left", "front"}, std::numbers::pi / 2},
    };
}

survey::Dimension dimension(const Bracket& b, const Wanted& w) {
    survey::Dimension d;
    d.id = "D1", d.name = w.name, d.quantity = w.quantity;
    for (const auto& name : w.objects) d.objects.push_back(b.id(name));
    return d;
}

/// Distance of a point from the adjusted free curve as it would be drawn.
double offCourse(const FeatureGeometry& g, const Vec3& X) {
    double least = INFINITY;
    for (std::size_t i = 1; i < g.course.size(); ++i) {
        const Vec3 a = g.course[i - 1], d = g.course[i] - a;
        const double t = std::clamp((X - a).dot(d) / d.squaredNorm(), 0.0, 1.0);
        least = std::min(least, (X - a - t * d).norm());
    }
    return least;
}

}  // namespace

TEST_CASE("exact marks of every kind of feature give the exact bracket") {
    const Bracket b(0.0, 1);
    const auto solution = adjust::adjust(b.survey);
    if (!solution) FAIL(solution.error().sentence());
    CHECK(solution->suspects.empty());
    for (const Wanted& w : wanted()) {
        INFO(w.name);
        const auto m = solution->measure(dimension(b, w));
        REQUIRE(m);
        CHECK(m->value == Approx(w.truth).margin(2e-6));
        CHECK(m->plusMinus > 0);
    }
    // A free curve is smooth between its nodes: with 20 of them it follows this egg to a micrometre or two.
    const FeatureGeometry& curve = solution->features.at(b.id("curve"));
    CHECK(curve.closed);
    for (int i = 0; i < 100; ++i) CHECK(offCourse(curve, b.truth.at(b.id("curve"))(i / 100.0)) < 0.01);
    const FeatureGeometry& ridge = solution->features.at(b.id("ridge"));
    CHECK(ridge.slope / (ridge.spanTo - ridge.spanFrom).norm() ==
          Approx(9 / std::hypot(80.0, 30.0)).margin(1e-6));
    const Vec3 n = solution->features.at(b.id("bore")).normal, t = Vec3(0.2, -0.4, 1).normalized();
    CHECK(std::abs(n.dot(t)) == Approx(1.0).margin(1e-8));
}

TEST_CASE("the ± of every kind of feature covers its truth") {
    std::map<std::string, std::pair<int, double>> score;  // inside, Σ (error/σ)²
    constexpr int kDraws = 60;
    for (int draw = 0; draw < kDraws; ++draw) {
        const Bracket b(0.2, 100U + static_cast<unsigned>(draw));
        const auto solution = adjust::adjust(b.survey);
        if (!solution) FAIL(solution.error().sentence());
        for (const Wanted& w : wanted()) {
            const auto m = solution->measure(dimension(b, w));
            REQUIRE(m);
            // An angle of exactly 90° between edges cannot be exceeded: the smaller angle folds the error.
            const double off = std::abs(m->value - w.truth);
            score[w.name].first += off <= m->plusMinus;
            score[w.name].second += std::pow(2 * off / m->plusMinus, 2) / kDraws;
        }
    }
    int inside = 0;
    for (const auto& [name, s] : score) {
        INFO(name << ": " << s.first << " of " << kDraws << ", normalised variance " << s.second);
        CHECK(s.first >= 51);    // 95 % of 60, four standard deviations below
        CHECK(s.second > 0.35);  // χ²/60 at about 1e-5 either side
        CHECK(s.second < 1.95);
        inside += s.first;
    }
    const double share = static_cast<double>(inside) / (kDraws * static_cast<double>(score.size()));
    fmt::print("  ± covers {:.1f} % of {} values\n", 100 * share, kDraws * score.size());
    CHECK(share > 0.92);
    CHECK(share < 0.98);
}
