// SPDX-License-Identifier: GPL-3.0-or-later
// Predicted images against the bracket's closed truth: place, σ, and what cannot be seen.
#include "core/adjust/Predict.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "Bracket.h"
#include "core/adjust/Adjust.h"

using namespace trammel;
using survey::FeatureKind;

namespace {

/// Distance of a point across the feature's true image; of a corner its two components' norm.
double missOf(const test::Bracket& b, const survey::Prediction& p, const Vec2& px, FeatureKind kind) {
    const auto image = [&](double t) {
        return *camera::project(b.constants, b.poses.at(p.station), b.truth.at(p.feature)(t));
    };
    if (kind == FeatureKind::Corner) return (image(0) - px).norm();
    double best = INFINITY;
    constexpr int kSteps = 4000;
    for (int i = 0; i < kSteps; ++i) {
        const Vec2 a = image(static_cast<double>(i) / kSteps), ab = image((i + 1.0) / kSteps) - a;
        const double t = std::clamp(ab.dot(px - a) / ab.squaredNorm(), 0.0, 1.0);
        best = std::min(best, (px - a - t * ab).norm());
    }
    return best;
}

const survey::Feature& featureOf(const survey::Survey& s, const survey::Id& id) {
    return *survey::find(s.features, id);
}

/// The survey without most marks of one photograph: those of every fourth feature stay.
survey::Survey thinned(const survey::Survey& s, const survey::Id& station) {
    survey::Survey out = s;
    int n = 0;
    std::erase_if(out.marks, [&](const survey::Mark& m) { return m.station == station && n++ % 4 != 0; });
    return out;
}

}  // namespace

TEST_CASE("Predicted places miss the truth by as much as their σ says") {
    std::map<FeatureKind, std::pair<double, int>> sums;  // of (miss/σ)² and how many
    for (unsigned seed = 1; seed <= 25; ++seed) {
        const test::Bracket b(0.2, seed);
        const survey::Survey s = thinned(b.survey, "S6");
        const auto solution = adjust::adjust(s);
        REQUIRE(solution);
        const auto predictions = adjust::predict(*solution, s, "S6");
        REQUIRE(predictions.size() > 15);
        for (const survey::Prediction& p : predictions) {
            const FeatureKind kind = featureOf(s, p.feature).kind;
            // A free curve is no spline: its own departure from one is not noise.
            if (kind == FeatureKind::Curve) continue;
            INFO(featureOf(s, p.feature).name);
            REQUIRE(p.covariance.rows() ==
                    (kind == FeatureKind::Corner ? 2 : static_cast<Eigen::Index>(p.points.size())));
            auto& [sum, count] = sums[kind];
            const std::size_t middle = p.points.size() / 2;
            const double miss = missOf(b, p, p.points[middle].px, kind);
            const auto m = static_cast<Eigen::Index>(middle);
            const double variance = kind == FeatureKind::Corner ? p.covariance.trace() : p.covariance(m, m);
            sum += miss * miss / variance;
            ++count;
        }
    }
    REQUIRE(sums.size() == 5);
    for (const auto& [kind, sum] : sums) {
        INFO("kind " << static_cast<int>(kind) << " of " << sum.second);
        const double ratio = std::sqrt(sum.first / sum.second);
        // Features of one draw err together through the camera: the effective number is about that of draws.
        CHECK(ratio > 0.7);
        CHECK(ratio < 1.35);
    }
}

TEST_CASE("What cannot be seen is not predicted") {
    const test::Bracket b(0.2, 3);
    const auto solution = adjust::adjust(b.survey);
    REQUIRE(solution);
    for (const survey::Prediction& p : adjust::predict(*solution, b.survey, "S3")) {
        // From the front every level folds into a line.
        const survey::Feature& f = featureOf(b.survey, p.feature);
        CHECK((f.kind == FeatureKind::Corner || f.level.empty()));
    }
    const auto top = adjust::predict(*solution, b.survey, "S1");
    CHECK(std::any_of(top.begin(), top.end(), [&](const auto& p) {
        return featureOf(b.survey, p.feature).kind == FeatureKind::Slot;
    }));
    // A small frame: only what lies inside it, 6 px from its border.
    survey::Survey small = b.survey;
    const auto middle = solution->project(b.survey, b.id("shelf 5"), "S1").front();
    survey::Photo& photo = small.stations[0].photo;
    photo.width = photo.height = 600;
    photo.crop = {6000, 4000, std::floor(middle.x() - 300), std::floor(middle.y() - 300), true};
    for (auto& m : small.marks)
        if (m.station == "S1")
            for (auto& p : m.points) p.px -= Vec2(photo.crop.offsetX, photo.crop.offsetY);
    std::erase_if(small.marks, [](const survey::Mark& m) {
        return m.station == "S1" && std::any_of(m.points.begin(), m.points.end(), [](const auto& p) {
                   return p.px.minCoeff() < 0.0 || p.px.maxCoeff() > 599.0;
               });
    });
    const auto again = adjust::adjust(small);
    INFO((again ? std::string() : again.error().sentence()));
    REQUIRE(again);
    const auto few = adjust::predict(*again, small, "S1");
    CHECK(few.size() < top.size());
    CHECK(std::any_of(few.begin(), few.end(), [&](const auto& p) { return p.feature == b.id("shelf 5"); }));
    for (const auto& p : few)
        for (const auto& point : p.points) {
            CHECK(point.px.minCoeff() > 6.0);
            CHECK(point.px.maxCoeff() < 594.0);
        }
    CHECK(adjust::predict(*solution, b.survey, "S99").empty());
    adjust::Solution bare = *solution;
    bare.covariance.reset();
    CHECK(adjust::predict(bare, b.survey, "S1").empty());
}
