// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/adjust/Start.h"

#include <fmt/core.h>

#include "Sample.h"
#include "core/adjust/Covariance.h"

using namespace trammel;
using namespace trammel::adjust;
using survey::FeatureKind;
using survey::View;

namespace {

Options plain() {
    Options o;
    o.findSuspects = false;
    return o;
}

/// Adjusts, and requires that the plan came out within `limit` mm RMS of the truth.
Solution mustSettle(const survey::Survey& s, double limit, const std::string& what) {
    CAPTURE(what);
    const auto solution = adjust::adjust(s, plain());
    if (!solution) FAIL(what << ": " << solution.error().sentence());
    const double off = test::planError(*solution);
    CHECK(off < limit);
    fmt::print("  {:<40} plan RMS {:.3f} mm, height worst {:.3f} mm, {} iterations, condition {:.1e}\n", what,
               off, test::heightError(*solution), solution->iterations, solution->conditionNumber);
    return *solution;
}

/// Whether the photographs leave an edge's place along the line of sight open (± more than a centimetre).
bool seenEdgeOn(const Solution& solution, const survey::Id& id) {
    survey::Dimension d;
    d.quantity = survey::Quantity::Distance;
    d.objects = {solution.covariance->survey().datum.origin, id};
    const auto measured = solution.measure(d);
    REQUIRE(measured);
    return measured->plusMinus > 10.0;
}

}  // namespace

TEST_CASE("the sample settles from its own start for every seed, by hand and fitted") {
    for (const bool fitted : {false, true})
        for (std::uint64_t seed = 1; seed <= 30; ++seed) {
            CAPTURE(fitted, seed);
            const auto solution = adjust::adjust(test::draw(fitted, seed), plain());
            REQUIRE(solution);
            CHECK(test::planError(*solution) < (fitted ? 0.05 : 0.35));
            CHECK(solution->iterations <= 30);
        }
}

TEST_CASE("the sample settles when any one photograph is missing") {
    for (const render::SceneCamera& camera : test::observer().scene().cameras) {
        render::ObserveOptions options = test::marks(false, 3);
        options.dropStations = {camera.name};
        mustSettle(test::observer().draw(options), 0.6, "without " + camera.name);
    }
}

TEST_CASE("few photographs still settle") {
    render::ObserveOptions options = test::marks(false, 4);
    options.onlyStations = {"top", "front", "right"};
    mustSettle(test::observer().draw(options), 0.8, "top, front, right");
    options.onlyStations = {"top", "oblique A", "oblique B"};
    mustSettle(test::observer().draw(options), 0.8, "top and two obliques");
}

TEST_CASE("zero noise finds the truth, and every dimension its true value") {
    for (const bool fitted : {false, true}) {
        render::ObserveOptions options = test::marks(fitted, 1);
        options.noise = false;
        options.focalPriorFraction = 0.0;  // priors are not the truth: they would pull
        survey::Survey s = test::observer().draw(options);
        for (survey::CameraGroup& g : s.groups) g.k1.mode = survey::ConstantMode::Free;
        for (survey::Station& st : s.stations) st.squareSigma_rad = 0.0;
        const auto solution = adjust::adjust(s);
        REQUIRE(solution);
        CHECK(solution->suspects.empty());
        for (const auto& [id, g] : solution->features) {
            CAPTURE(id, test::truth().features.at(id).name);
            const render::FeatureTruth& t = test::truth().features.at(id);
            if (g.kind == FeatureKind::Edge) {
                if (seenEdgeOn(*solution, id)) continue;
                const Vec2 d = t.direction;
                const Vec2 off = g.point.head<2>() - t.point.head<2>();
                CHECK(std::abs(off.x() * d.y() - off.y() * d.x()) < 1e-3);
                CHECK(std::abs(g.direction.x() * d.y() - g.direction.y() * d.x()) < 1e-4);
            } else {
                CHECK((g.point - t.point).norm() < 1e-3);
                CHECK(std::abs(g.radius - t.radius) < 1e-3);
            }
        }
        CHECK(test::heightError(*solution) < 1e-3);
        REQUIRE(solution->dimensions.size() == s.dimensions.size());
        REQUIRE_FALSE(s.dimensions.empty());
        for (std::size_t i = 0; i < s.dimensions.size(); ++i) {
            const auto& d = s.dimensions[i];
            CAPTURE(d.name);
            const auto expected = test::truth().value(d.quantity, d.objects);
            REQUIRE(expected);
            CHECK(std::abs(solution->dimensions[i].value - *expected) < 1e-3);
            CHECK(solution->dimensions[i].plusMinus >= 0);
            const auto measured = solution->measure(d);
            REQUIRE(measured);
            CHECK(measured->value == solution->dimensions[i].value);
        }
    }
}

TEST_CASE("oblique photographs of one flat level settle from homographies") {
    // A flat survey: only what lies on the datum level, seen in the two obliques and the top view taken as
    // oblique.
    survey::Survey s = test::draw(true, 6);
    const survey::Id level = s.datum.level;
    std::erase_if(s.features, [&](const auto& f) { return f.level != level; });
    std::erase_if(s.stations,
                  [](const auto& st) { return st.view != View::Oblique && st.view != View::Top; });
    for (auto& st : s.stations) st.view = View::Oblique;
    std::erase_if(s.levels, [&](const auto& l) { return l.id != level; });
    const auto gone = [&](const survey::Id& id) {
        return !find(s.features, id) && !find(s.levels, id) && !find(s.stations, id);
    };
    std::erase_if(s.marks, [&](const auto& m) { return gone(m.feature) || gone(m.station); });
    const auto dangling = [&](const auto& r) {
        return std::any_of(r.objects.begin(), r.objects.end(), gone);
    };
    std::erase_if(s.readings, dangling);
    std::erase_if(s.dimensions, dangling);
    s.outlines.clear();
    std::erase_if(s.features, [&](const auto& f) {
        return std::none_of(s.marks.begin(), s.marks.end(), [&](const auto& m) { return m.feature == f.id; });
    });
    std::erase_if(s.groups, [&](const auto& g) {
        return std::none_of(s.stations.begin(), s.stations.end(),
                            [&](const auto& st) { return st.group == g.id; });
    });
    mustSettle(s, 0.3, "three obliques of one level");
}
