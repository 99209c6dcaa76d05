// SPDX-License-Identifier: GPL-3.0-or-later
// Trails round random outlines of lines and arcs (Outlines.h), split and held against the truth.
#include <Eigen/LU>
#include <catch2/catch.hpp>

#include "Outlines.h"
#include "TemporaryFolder.h"
#include "core/fit/Split.h"
#include "core/fit/Trail.h"

using namespace trammel;
using namespace pictures;
using fit::Piece;

namespace {

/// What came of many outlines.
struct Tally {
    int tried = 0, refused = 0, count = 0,
        kinds = 0;  ///< outlines with all pieces; and all of the right kind
    int ends = 0, endsCovered = 0, radii = 0, radiiCovered = 0, joints = 0, jointsRight = 0;
};

void compare(const std::vector<Piece>& pieces, const Outline& outline, Tally& t) {
    const auto truth = geometry::pieces(outline.chain);
    if (pieces.size() != truth.size()) return;
    ++t.count;
    std::size_t shift = 0;
    for (std::size_t s = 0; s < truth.size(); ++s)
        if ((pieces[0].from - truth[s].from).norm() < (pieces[0].from - truth[shift].from).norm()) shift = s;
    for (std::size_t k = 0; k < truth.size(); ++k)
        if (truth[(k + shift) % truth.size()].isArc() != (pieces[k].kind == Piece::Kind::Arc)) return;
    ++t.kinds;
    for (std::size_t k = 0; k < truth.size(); ++k) {
        const Piece& p = pieces[k];
        const geometry::Piece& q = truth[(k + shift) % truth.size()];
        const Vec2 miss = p.to - q.to;
        ++t.ends;
        t.endsCovered += miss.dot(p.toCovariance.inverse() * miss) < 5.99;  // χ² of two, 95 %
        ++t.joints;
        t.jointsRight += p.tangentToNext == outline.tangentAtVertex[(k + shift + 1) % truth.size()];
        if (!q.isArc()) continue;
        ++t.radii;
        t.radiiCovered += std::abs(p.radius - q.circle.radius) < 2.0 * p.radiusSigma_px;
    }
}

Tally trace(const Exposure& exposure, int draws, unsigned seed, const std::filesystem::path& folder) {
    Tally t;
    for (int k = 0; k < draws; ++k) {
        std::mt19937 random(seed + static_cast<unsigned>(k));
        std::normal_distribution<double> gauss;
        const Outline outline = randomOutline(random, {200 + gauss(random), 200 + gauss(random)}, {});
        Exposure e = exposure;
        e.seed = static_cast<unsigned>(random());
        const auto image = photograph(outline.chain, 420, 420, e, folder);
        std::vector<Vec2> clicks = outline.clicks;
        for (Vec2& c : clicks) c += 1.2 * Vec2(gauss(random), gauss(random));
        ++t.tried;
        const fit::EdgeFollower follower(image);
        const auto trail = fit::followTrail(image, follower, clicks, {true});
        const auto pieces = trail ? fit::splitTrail(image, *trail) : trail.error();
        if (!pieces) {
            ++t.refused;
            continue;
        }
        compare(*pieces, outline, t);
    }
    return t;
}

}  // namespace

TEST_CASE("Trails of random outlines: pieces, joints, ends and radii come out as drawn") {
    const test::TemporaryFolder folder;
    struct Case {
        const char* name;
        Exposure exposure;
    };
    const std::vector<Case> cases = {{"clean", {0.05, 0.45, 1.0, 0.004, 0}},
                                     {"noisy", {0.05, 0.45, 1.0, 0.015, 0}},
                                     {"blurred", {0.45, 0.05, 2.0, 0.006, 0}},
                                     {"JPEG 85", {0.05, 0.45, 1.0, 0.008, 85}}};
    Tally all;
    std::string words;
    for (const Case& c : cases) {
        const Tally t = trace(c.exposure, 30, 700, folder.path());
        words += std::string(c.name) + ": " + std::to_string(t.count) + " counts, " +
                 std::to_string(t.kinds) + " kinds of " + std::to_string(t.tried) + "; ";
        all.tried += t.tried, all.refused += t.refused, all.count += t.count, all.kinds += t.kinds;
        all.ends += t.ends, all.endsCovered += t.endsCovered, all.radii += t.radii;
        all.radiiCovered += t.radiiCovered, all.joints += t.joints, all.jointsRight += t.jointsRight;
    }
    INFO(words << "ends covered " << all.endsCovered << " of " << all.ends << ", radii " << all.radiiCovered
               << " of " << all.radii << ", joints " << all.jointsRight << " of " << all.joints);
    CHECK(all.refused == 0);
    CHECK(all.count >= 0.95 * all.tried);
    CHECK(all.kinds >= 0.92 * all.tried);
    CHECK(all.endsCovered >= 0.94 * all.ends);
    CHECK(all.radiiCovered >= 0.94 * all.radii);
    CHECK(all.jointsRight >= 0.98 * all.joints);
}

TEST_CASE("A straight edge that the lens bends is one line where the lens is known") {
    // Barrel distortion that bends the plate's sides by some 3 px.
    const Vec2 middle(200.0, 200.0);
    const auto undistort = [&](const Vec2& p) {
        const Vec2 q = p - middle;
        return Vec2(middle + q * (1.0 + 8e-7 * q.squaredNorm()));
    };
    Chain chain;
    for (const Vec2& p : {Vec2(45, 50), Vec2(352, 61), Vec2(349, 340), Vec2(52, 351)})
        chain.vertices.push_back({p, 0.0});
    const auto image = photograph(chain, 400, 400, {0.05, 0.45, 1.0, 0.005, 0, 3}, {}, undistort);
    const fit::EdgeFollower follower(image);
    const auto trail =
        fit::followTrail(image, follower, {{200, 60}, {343, 200}, {200, 340}, {53, 200}}, {true});
    REQUIRE(trail);
    const auto bent = fit::splitTrail(image, *trail);
    REQUIRE(bent);
    int arcs = 0;
    for (const Piece& p : *bent) arcs += p.kind == Piece::Kind::Arc;
    CHECK((arcs > 0 || bent->size() > 4));
    const auto pieces = fit::splitTrail(image, *trail, {}, undistort);
    REQUIRE(pieces);
    REQUIRE(pieces->size() == 4);
    for (const Piece& p : *pieces) {
        CHECK(p.kind == Piece::Kind::Line);
        double least = 1e300;
        for (const auto& v : chain.vertices) least = std::min(least, (p.to - v.point).norm());
        CHECK(least < 3.0 * std::sqrt(p.toCovariance.trace()));
        CHECK((undistort(p.toPx) - p.to).norm() < 1e-6);
    }
}

TEST_CASE("A circle is one piece, an open trail ends where it was left") {
    Chain circle = geometry::circleChain({{100.3, 99.6}, 60.0});
    const auto image = photograph(circle, 200, 200, {0.05, 0.45, 1.0, 0.005, 0, 5});
    const fit::EdgeFollower follower(image);
    const auto trail =
        fit::followTrail(image, follower, {{160, 100}, {100, 160}, {40, 100}, {100, 40}}, {true});
    REQUIRE(trail);
    const auto pieces = fit::splitTrail(image, *trail);
    REQUIRE(pieces);
    REQUIRE(pieces->size() == 1);
    const Piece& p = pieces->front();
    CHECK(p.kind == Piece::Kind::Arc);
    CHECK(std::abs(p.sweep) == Approx(2 * std::numbers::pi));
    CHECK((p.centre - Vec2(100.3, 99.6)).norm() < 0.03);
    CHECK(std::abs(p.radius - 60.0) < 2.0 * p.radiusSigma_px);

    const auto part = fit::followTrail(image, follower, {{160, 100}, {100, 160}});
    REQUIRE(part);
    const auto arc = fit::splitTrail(image, *part);
    REQUIRE(arc);
    REQUIRE(arc->size() == 1);
    CHECK(std::abs(std::abs(arc->front().sweep) - std::numbers::pi / 2) < 0.06);
    CHECK(std::abs(arc->front().radius - 60.0) < 2.5 * arc->front().radiusSigma_px);
}
