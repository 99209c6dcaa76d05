// SPDX-License-Identifier: GPL-3.0-or-later
// Trails along outlines of known lines and arcs. Light is set by the exact signed distance of each place.
#include "core/fit/Trail.h"

#include <catch2/catch.hpp>
#include <limits>

#include "Pictures.h"
#include "core/fit/Split.h"
#include "core/fit/TrailEdit.h"

using namespace trammel;
using namespace pictures;
using fit::Piece;

namespace {

/// A rectangle with rounded corners: its distance is exact.
struct Plate {
    Vec2 middle{210.3, 160.7}, half{130.0, 90.0};
    double radius = 24.0;
    double distance(const Vec2& p) const {
        const Vec2 q = (p - middle).cwiseAbs() - (half - Vec2(radius, radius));
        return q.cwiseMax(0.0).norm() + std::min(0.0, std::max(q.x(), q.y())) - radius;
    }
};

LinearImage picture(const Plate& plate, double blur, double noise, unsigned seed) {
    return take(
        420, 320,
        [&](const Vec2& p) {
            return 0.05 + 0.2 * std::erfc(-plate.distance(p) / (blur * std::numbers::sqrt2));
        },
        {noise, true, seed}, 3);
}

std::string words(const Result<fit::Trail>& r) { return r ? "" : r.error().sentence(); }

const std::vector<Vec2> kClicks = {{81, 160}, {211, 72}, {339, 161}, {210, 249}};

}  // namespace

TEST_CASE("Trail: follows the edge round a plate to a fraction of a pixel") {
    const Plate plate;
    const auto image = picture(plate, 1.0, 0.006, 5);
    const fit::EdgeFollower follower(image);
    const auto trail = fit::followTrail(image, follower, kClicks, {true});
    INFO(words(trail));
    REQUIRE(trail);
    CHECK(trail->length_px == Approx(2 * (212 + 132) + 2 * std::numbers::pi * 24).margin(5.0));
    double round = 0.0;  // the last step back to the first point counts
    for (std::size_t i = 0; i < trail->points.size(); ++i)
        round += (trail->points[i].px - trail->points[(i + 1) % trail->points.size()].px).norm();
    CHECK(trail->length_px == Approx(round).margin(1e-9));
    int covered = 0;
    for (const auto& p : trail->points) {
        CHECK(std::abs(plate.distance(p.px)) < 0.3);
        covered += std::abs(plate.distance(p.px)) < 2.0 * p.sigma_px;
    }
    CHECK(covered > 0.9 * static_cast<double>(trail->points.size()));
    const auto way = fit::followClicks(follower, kClicks, {true});
    REQUIRE(way);
    CHECK(*way == trail->path);
}

TEST_CASE("Trail: splits into four lines and four tangent arcs") {
    const Plate plate;
    const auto image = picture(plate, 1.0, 0.006, 6);
    const fit::EdgeFollower follower(image);
    const auto trail = fit::followTrail(image, follower, kClicks, {true});
    REQUIRE(trail);
    const auto pieces = fit::splitTrail(image, *trail);
    REQUIRE(pieces);
    REQUIRE(pieces->size() == 8);
    for (std::size_t k = 0; k < 8; ++k) {
        const Piece& p = (*pieces)[k];
        const Piece& next = (*pieces)[(k + 1) % 8];
        CHECK(p.kind != next.kind);
        CHECK(p.tangentToNext);
        CHECK((p.to - next.from).norm() < 1e-9);
        CHECK(std::abs(plate.distance(p.to)) < 3.0 * std::sqrt(p.toCovariance.trace()));
        if (p.kind == Piece::Kind::Line) continue;
        CHECK(std::abs(p.radius - plate.radius) < 2.5 * p.radiusSigma_px);
        CHECK(std::abs(std::abs(p.sweep) - std::numbers::pi / 2) < 0.02);
    }
}

TEST_CASE("Trail: what leads nowhere is refused by the numbers of its clicks") {
    const Plate plate;
    const auto image = picture(plate, 1.0, 0.006, 7);
    const fit::EdgeFollower follower(image);
    const auto follow = [&](const std::vector<Vec2>& clicks, bool closed = false) {
        return words(fit::followTrail(image, follower, clicks, {closed}));
    };
    CHECK(follow({}).find("two clicks") != std::string::npos);
    CHECK(follow({{81, 160}}).find("two clicks") != std::string::npos);
    CHECK(follow({{81, 160}, {211, 72}}, true).find("three clicks") != std::string::npos);
    CHECK(follow({{81, 160}, {-3, 72}}).find("click 2 lies outside") != std::string::npos);
    CHECK(follow({{81, 160}, {211, 400}}).find("click 2 lies outside") != std::string::npos);
    const double nan = std::numeric_limits<double>::quiet_NaN();
    CHECK(follow({{nan, 160}, {211, 72}}).find("click 1 is not a place") != std::string::npos);
    // Nothing but noise inside the plate, darker and so noisier to the root of light than its surroundings.
    for (double x = 130; x < 290; x += 23) {
        const std::string astray = follow({{81, 160}, {211, 72}, {x, 160}});
        INFO(astray);
        CHECK((astray.find("no edge leads from click 2 to click 3") != std::string::npos ||
               astray.find("no edge shows near click 3") != std::string::npos));
    }
    const auto flat = take(
        200, 150, [](const Vec2&) { return 0.3; }, {0.01, true, 3}, 1);
    const fit::EdgeFollower nowhere(flat);
    CHECK_FALSE(fit::followTrail(flat, nowhere, {{20, 20}, {150, 100}}));
    // Two plates apart: clicks on both, nothing between.
    const auto two = take(
        300, 120,
        [](const Vec2& p) {
            const Vec2 q(std::abs(p.x() - 150.0), p.y());
            const double inside = std::max(std::abs(q.x() - 90.0) - 35.0, std::abs(q.y() - 60.0) - 30.0);
            return 0.1 + 0.2 * std::erfc(inside / 1.2);
        },
        {0.005, true, 4}, 3);
    const fit::EdgeFollower between(two);
    CHECK(words(fit::followTrail(two, between, {{60, 30}, {95, 60}, {205, 60}, {240, 30}}))
              .find("no edge leads from click 2 to click 3") != std::string::npos);
}

TEST_CASE("Trail: an edit makes edges, arcs, conditions, corners and the outline, and is undone as one") {
    survey::Survey s;
    s.groups.emplace_back().id = "G1";
    survey::Station station;
    station.id = "S1";
    station.name = "top";
    station.group = "G1";
    station.photo.width = 420;
    station.photo.height = 320;
    s.stations.push_back(station);
    s.levels.push_back({"L1", "face"});
    survey::Feature taken;
    taken.id = "F7";
    taken.name = "E4";
    taken.kind = survey::FeatureKind::Edge;
    taken.level = "L1";
    s.features.push_back(taken);
    const Plate plate;
    const auto image = picture(plate, 1.0, 0.006, 8);
    const fit::EdgeFollower follower(image);
    const auto trail = fit::followTrail(image, follower, kClicks, {true});
    REQUIRE(trail);
    const auto pieces = fit::splitTrail(image, *trail);
    REQUIRE(pieces);
    const auto edit = fit::trailEdit(s, *pieces, {"S1", "L1", true});
    REQUIRE(edit);
    survey::Survey after = s;
    const auto back = survey::apply(after, *edit);
    INFO((back ? std::string() : back.error().sentence()));
    REQUIRE(back);
    REQUIRE(after.features.size() == 9);
    CHECK(after.outlines.size() == 1);
    CHECK(after.outlines[0].chain.size() == 8);
    CHECK(after.conditions.size() == 8);
    CHECK(after.marks.size() == 8);
    std::vector<std::string> names;
    for (const auto& f : after.features) names.push_back(f.name);
    for (const char* name : {"E5", "E8", "A1", "A4"})
        CHECK(std::count(names.begin(), names.end(), name) == 1);
    for (const auto& m : after.marks) {
        CHECK(m.origin == survey::MarkOrigin::Fitted);
        for (const auto& p : m.points) CHECK(std::abs(plate.distance(p.px)) < 0.3);
    }
    REQUIRE(survey::apply(after, *back));
    CHECK(after == s);
    CHECK_FALSE(fit::trailEdit(s, *pieces, {"S9", "L1", true}));
    CHECK_FALSE(fit::trailEdit(s, *pieces, {"S1", "L9", true}));
    CHECK_FALSE(fit::trailEdit(s, {}, {"S1", "L1", true}));
}
