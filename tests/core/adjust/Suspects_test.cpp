// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include "Sample.h"
#include "core/adjust/Report.h"
#include "core/render/Random.h"

using namespace trammel;
using namespace trammel::adjust;

namespace {

constexpr int kSeeds = 20;

/// How often the changed observation comes first among the suspects.
template <class Change>
int namedFirst(const std::string& what, bool fitted, Change&& change) {
    int named = 0;
    for (int seed = 1; seed <= kSeeds; ++seed) {
        survey::Survey s = test::draw(fitted, static_cast<std::uint64_t>(seed));
        render::Random random(static_cast<std::uint64_t>(1000 + seed));
        const survey::Id id = change(s, random);
        const auto solution = adjust::adjust(s);
        REQUIRE(solution);
        const bool first = !solution->suspects.empty() && solution->suspects.front().object == id;
        named += first ? 1 : 0;
        if (!first)
            fmt::print("  {} seed {}: {} not first ({})\n", what, seed, describe(s, id),
                       solution->suspects.empty() ? "nobody" : solution->suspects.front().sentence);
        if (first) CHECK(solution->suspects.front().sentence.size() > 40);
        if (first) CHECK_FALSE(agrees(*solution));
    }
    fmt::print("  {}: named first in {} of {}\n", what, named, kSeeds);
    return named;
}

}  // namespace

TEST_CASE("a mark misclicked by 12 px is named first") {
    CHECK(
        namedFirst("misclick 12 px", false, [](survey::Survey& s, render::Random& random) {
            // A corner that three photographs see or more: less cannot tell which one is wrong.
            for (;;) {
                survey::Mark& m =
                    s.marks[static_cast<std::size_t>(random.uniform() * static_cast<double>(s.marks.size()))];
                int views = 0;
                for (const survey::Mark& o : s.marks) views += o.feature == m.feature ? 1 : 0;
                if (find(s.features, m.feature)->kind != survey::FeatureKind::Corner || views < 3) continue;
                const double angle = 6.283185307 * random.uniform();
                m.points[0].px += 12.0 * Vec2(std::cos(angle), std::sin(angle));
                return m.id;
            }
        }) >= 19);
}

TEST_CASE("a reading wrong by 1 mm is named first") {
    const auto wrong = [](survey::Survey& s, render::Random& random) {
        survey::Reading& r = test::named(s.readings, "hole spacing H1 H3");
        r.measured.value += random.uniform() < 0.5 ? -1.0 : 1.0;
        return r.id;
    };
    CHECK(namedFirst("reading 1 mm, fitted marks", true, wrong) >= 19);
    // Against clicks of 1.5 px the millimetre is some ten σ: a rare draw of the marks stands out more.
    CHECK(namedFirst("reading 1 mm, marks by hand", false, wrong) >= 17);
}

TEST_CASE("a reference wrong by 2 mm is named first") {
    CHECK(namedFirst("reference 2 mm", false, [](survey::Survey& s, render::Random& random) {
              survey::Reading& r = test::named(s.readings, "rule 300");
              r.measured.value += random.uniform() < 0.5 ? -2.0 : 2.0;
              return r.id;
          }) >= 19);
}

TEST_CASE("without a blunder hardly anything is accused") {
    std::size_t accused = 0, observations = 0;
    for (int seed = 1; seed <= kSeeds; ++seed) {
        const auto solution = adjust::adjust(test::draw(seed % 2 == 0, static_cast<std::uint64_t>(seed)));
        REQUIRE(solution);
        accused += solution->suspects.size();
        observations += solution->observations.size();
    }
    fmt::print("  accused {} of {} good observations\n", accused, observations);
    REQUIRE(observations > 1000);
    CHECK(static_cast<double>(accused) <= 0.01 * static_cast<double>(observations));
}

TEST_CASE("the tests of a clean survey look like what theory promises") {
    double redundancy = 0.0;
    const survey::Survey s = test::draw(false, 2);
    Options options;
    options.findSuspects = false;
    const auto solution = adjust::adjust(s, options);
    REQUIRE(solution);
    for (const ObservationResult& o : solution->observations) {
        if (!o.check) redundancy += o.redundancy;
        CHECK(o.probability >= 0.0);
        CHECK(o.probability <= 1.0);
        CHECK(o.smallestDetectable > 0.0);
    }
    CHECK(redundancy == Approx(solution->global.degreesOfFreedom).epsilon(1e-6));
    CHECK(solution->global.low < 1.0);
    CHECK(solution->global.high > 1.0);
}
