// SPDX-License-Identifier: GPL-3.0-or-later
// A start from the solution before the last edit against a start from the marks alone.
#include <fmt/core.h>

#include "Sample.h"
#include "core/render/Random.h"
#include "core/survey/Edit.h"

using namespace trammel;
using namespace trammel::adjust;

namespace {

/// One random change to a survey, as a person makes them.
class Editor {
  public:
    explicit Editor(std::uint64_t seed) : random_(seed) {}

    std::string edit(survey::Survey& s) {
        switch (static_cast<int>(random_.uniform() * 8)) {
            case 0:
                return moveMark(s, 0.5);
            case 1:
                return moveMark(s, 8.0);
            case 2: {
                survey::Mark& m = pick(s.marks);
                removed_.push_back(m);
                const survey::Id id = m.id;
                std::erase_if(s.marks, [&](const survey::Mark& other) { return other.id == id; });
                return "mark removed";
            }
            case 3:
                if (removed_.empty() || !find(s.features, removed_.back().feature)) return moveMark(s, 0.2);
                s.marks.push_back(removed_.back());
                removed_.pop_back();
                return "mark added";
            case 4: {
                const survey::Id id = pick(s.features).id;
                if (id == s.datum.origin || id == s.datum.direction) return moveMark(s, 1.0);
                REQUIRE(survey::apply(s, survey::removeWithDependents(s, id)));
                return "feature removed";
            }
            case 5: {
                survey::Mark& m = pick(s.marks);
                m.excluded = !m.excluded;
                return "mark excluded or taken in";
            }
            case 6: {
                survey::Reading& r = pick(s.readings);
                r.measured.value += (random_.uniform() < 0.3 ? 20.0 : 0.7) * r.measured.sigma;
                return "reading changed";
            }
            default: {
                survey::Reading& r = pick(s.readings);
                r.excluded = !r.excluded;
                return "reading excluded or taken in";
            }
        }
    }

  private:
    template <class T>
    T& pick(std::vector<T>& list) {
        return list[static_cast<std::size_t>(random_.uniform() * static_cast<double>(list.size()))];
    }
    std::string moveMark(survey::Survey& s, double px) {
        survey::Mark& m = pick(s.marks);
        const double angle = 6.283185307 * random_.uniform();
        for (survey::MarkPoint& p : m.points) p.px += px * Vec2(std::cos(angle), std::sin(angle));
        return fmt::format("mark moved by {} px", px);
    }

    render::Random random_;
    std::vector<survey::Mark> removed_;
};

std::vector<std::string> named(const Solution& s) {
    std::vector<std::string> out;
    for (const Suspect& suspect : s.suspects) out.push_back(suspect.sentence);
    return out;
}

/// Largest difference of anything in mm.
double apart(const Solution& a, const Solution& b) {
    double worst = 0.0;
    REQUIRE(a.features.size() == b.features.size());
    REQUIRE(a.levels.size() == b.levels.size());
    for (const auto& [id, f] : a.features) {
        const FeatureGeometry& g = b.features.at(id);
        const double off = std::max({(f.point - g.point).norm(), std::abs(f.radius - g.radius),
                                     (f.spanFrom - g.spanFrom).norm(), (f.spanTo - g.spanTo).norm()});
        if (off > 1e-7)
            UNSCOPED_INFO(describe(a.covariance->survey(), id)
                          << ": point " << (f.point - g.point).norm() << ", radius " << f.radius - g.radius
                          << ", ends " << (f.spanFrom - g.spanFrom).norm() << " "
                          << (f.spanTo - g.spanTo).norm());
        worst = std::max(worst, off);
    }
    for (const auto& [id, z] : a.levels) worst = std::max(worst, std::abs(z - b.levels.at(id)));
    return worst;
}

void compare(bool fitted, int seeds, int edits) {
    int runs = 0, errors = 0, differ = 0;
    double worst = 0.0, worstDimension = 0.0, worstDoubt = 0.0;
    for (int seed = 1; seed <= seeds; ++seed) {
        survey::Survey s = test::draw(fitted, static_cast<std::uint64_t>(seed));
        Editor editor(static_cast<std::uint64_t>(100 + seed));
        Options options;
        if (auto first = adjust::adjust(s)) options.previous = std::make_shared<const Solution>(*first);
        REQUIRE(options.previous);
        for (int i = 0; i < edits; ++i) {
            const std::string what = editor.edit(s);
            const auto cold = adjust::adjust(s), warm = adjust::adjust(s, options);
            CAPTURE(seed, i, what);
            REQUIRE(static_cast<bool>(cold) == static_cast<bool>(warm));
            ++runs;
            if (!cold) {
                CHECK(cold.error().sentence() == warm.error().sentence());
                ++errors;
                break;
            }
            options.previous = std::make_shared<const Solution>(*warm);
            CHECK(named(*cold) == named(*warm));
            if (cold->setAside.size() != warm->setAside.size()) {
                ++differ;
                continue;
            }
            const double off = apart(*cold, *warm);
            CHECK(off < 1e-7);
            worst = std::max(worst, off);
            REQUIRE(cold->dimensions.size() == warm->dimensions.size());
            for (std::size_t d = 0; d < cold->dimensions.size(); ++d) {
                const DimensionResult &a = cold->dimensions[d], &b = warm->dimensions[d];
                // The sum of squares (some 1e3) is computed to about 1e-13 of itself: what moves it by less,
                // steps of some 1e-5 σ, no solver can see.
                worstDimension = std::max(worstDimension, std::abs(a.value - b.value));
                if (a.plusMinus > 0) CHECK(std::abs(a.value - b.value) < 1e-5 * a.plusMinus);
                if (a.plusMinus > 0)
                    worstDoubt = std::max(worstDoubt, std::abs(b.plusMinus / a.plusMinus - 1));
            }
            CHECK(cold->global.degreesOfFreedom == warm->global.degreesOfFreedom);
            CHECK(cold->global.varianceFactor == Approx(warm->global.varianceFactor).epsilon(1e-9));
        }
    }
    fmt::print(
        "  {}: {} edits, {} refused alike, other suspects in {}; features apart {:.1e} mm, dimensions "
        "{:.1e}, "
        "their ± {:.1e}\n",
        fitted ? "fitted marks" : "marks by hand", runs, errors, differ, worst, worstDimension, worstDoubt);
    CHECK(worstDoubt < 1e-7);
}

}  // namespace

TEST_CASE("a start from the solution before an edit ends where the start from the marks ends") {
    compare(true, 8, 12);
    compare(false, 8, 12);
}

TEST_CASE("a solution that does not carry over is no start, and nothing is lost by it") {
    survey::Survey s = test::draw(true, 1);
    const auto whole = adjust::adjust(s);
    REQUIRE(whole);
    Options options;
    options.previous = std::make_shared<const Solution>(*whole);
    SECTION("a photograph that it does not know") {
        survey::Survey less = s;
        const survey::Id id = test::named(less.stations, "right").id;
        REQUIRE(survey::apply(less, survey::removeWithDependents(less, id)));
        const auto before = adjust::adjust(less);
        REQUIRE(before);
        options.previous = std::make_shared<const Solution>(*before);
    }
    SECTION("another survey altogether") {
        for (survey::Station& st : s.stations) st.name += " again";
        for (survey::Mark& m : s.marks) m.id += "x";
    }
    SECTION("another datum") {
        s.datum.origin = test::named(s.features, "H3").id;
        s.datum.direction = test::named(s.features, "H2").id;
    }
    SECTION("without the ± there is nothing to start from") {
        Options plain;
        plain.withCovariance = false;
        plain.findSuspects = false;
        const auto before = adjust::adjust(s, plain);
        REQUIRE(before);
        options.previous = std::make_shared<const Solution>(*before);
    }
    const auto cold = adjust::adjust(s), warm = adjust::adjust(s, options);
    REQUIRE(cold);
    REQUIRE(warm);
    CHECK(named(*cold) == named(*warm));
    CHECK(apart(*cold, *warm) < 1e-7);
}
