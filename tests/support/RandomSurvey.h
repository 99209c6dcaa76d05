// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <fmt/core.h>

#include <cmath>
#include <random>
#include <string>

#include "core/survey/Survey.h"

/// Sound surveys with random content, for property tests. Not meant to be adjusted.
namespace trammel::test {

class RandomSurvey {
  public:
    explicit RandomSurvey(unsigned seed) : random_(seed) {}

    int integer(int low, int high) { return std::uniform_int_distribution<int>(low, high)(random_); }
    bool coin() { return integer(0, 1) == 1; }
    /// Any magnitude, full mantissa.
    double number() {
        return std::ldexp(std::uniform_real_distribution<double>(-1, 1)(random_), integer(-40, 40));
    }
    double positive() { return std::abs(number()) + 1e-12; }
    std::string word() {
        static const char* const words[] = {
            "",    "left hole", "Öse ⌀3", "quote \" and \\", "line\nbreak", "\t\x01x", "日本",
            "a/b", "{}[]",      "front"};
        return words[integer(0, 9)];
    }
    template <class T>
    const T& pick(const std::vector<T>& list) {
        return list[static_cast<std::size_t>(integer(0, static_cast<int>(list.size()) - 1))];
    }

    survey::Constant constant() {
        return {positive(), positive(), static_cast<survey::ConstantMode>(integer(0, 2))};
    }
    survey::CameraGroup group(const survey::Id& id) {
        survey::CameraGroup g;
        g.id = id, g.name = word(), g.body = word(), g.lens = word();
        g.focalLength_mm = positive(), g.pixelPitch_mm = positive();
        g.principalDistance = constant();
        for (survey::Constant* c : {&g.principalX, &g.principalY, &g.k1, &g.k2, &g.k3, &g.p1, &g.p2})
            *c = constant();
        g.principalDistance.value = 1.0 + std::fmod(g.principalDistance.value, 1e8);
        g.pupil = constant();
        g.lightGrowth = constant();
        if (g.pupil.mode == survey::ConstantMode::Free) g.pupil.mode = survey::ConstantMode::Fixed;
        g.focusSigma = 0.01 * integer(1, 50);
        return g;
    }
    survey::Station station(const survey::Survey& s, const survey::Id& id) {
        survey::Station st;
        st.id = id, st.name = word(), st.view = static_cast<survey::View>(integer(0, 6));
        st.photo = {word(), word(), integer(1, 9000), integer(1, 9000), integer(1, 8), {}};
        st.photo.crop = {20000, 20000, std::abs(std::fmod(number(), 5000.0)), 12.25, coin()};
        st.group = pick(s.groups).id;
        st.squareSigma_rad = coin() ? positive() : 0.0;
        st.excluded = coin();
        if (coin() && st.view != survey::View::Oblique)
            st.mirror = survey::MirrorMark{Vec2(number(), number()), positive(), positive()};
        return st;
    }
    survey::Level level(const survey::Id& id) {
        // The first level is the datum and cannot be tilted.
        const bool datum = id == "L2";
        return {id, word(), static_cast<survey::LevelForm>(datum ? 2 * integer(0, 1) : integer(0, 2))};
    }
    survey::Feature feature(const survey::Survey& s, const survey::Id& id) {
        return {id,
                word(),
                static_cast<survey::FeatureKind>(integer(0, 5)),
                pick(s.levels).id,
                static_cast<survey::Transition>(integer(0, 3)),
                0.01 * integer(1, 500)};
    }
    survey::Mark mark(const survey::Survey& s, const survey::Id& id) {
        survey::Mark m{id, pick(s.stations).id, pick(s.features).id, {}, survey::MarkOrigin::Hand, coin()};
        if (coin()) m.origin = survey::MarkOrigin::Fitted;
        for (int n = integer(1, 5); n > 0; --n) {
            m.points.push_back({Vec2(number(), number()), positive()});
            if (coin()) m.points.back().growth_px = Vec2(number(), number());
        }
        return m;
    }
    survey::Reading reading(const survey::Survey& s, const survey::Id& id) {
        survey::Reading r;
        r.id = id, r.name = word();
        r.quantity = coin() ? survey::Quantity::Height : survey::Quantity::Tape;
        r.objects = {r.quantity == survey::Quantity::Height ? pick(s.features).id : pick(s.stations).id};
        r.measured = {positive(), positive()};
        if (coin()) r.jawFlat_mm = positive();
        r.reference = coin(), r.check = coin(), r.excluded = coin();
        return r;
    }
    survey::Dimension dimension(const survey::Survey& s, const survey::Id& id) {
        return {id,
                word(),
                survey::Quantity::Depth,
                {s.levels.front().id, pick(s.features).id},
                coin(),
                coin() ? positive() : 0.0};
    }
    survey::Outline outline(const survey::Survey& s, const survey::Id& id) {
        survey::Outline o{
            id, word(), static_cast<survey::OutlinePurpose>(integer(0, 2)), pick(s.levels).id, {}};
        for (int n = integer(1, 6); n > 0; --n) o.chain.push_back(pick(s.features).id);
        return o;
    }

    survey::Condition condition(const survey::Survey& s, const survey::Id& id) {
        survey::Condition c;
        c.id = id, c.name = word(), c.kind = survey::ConditionKind::Coplanar;
        c.objects = {s.levels.front().id, pick(s.features).id};
        c.measured = {0.0, positive()};
        c.excluded = coin();
        return c;
    }

    survey::Survey survey() {
        survey::Survey s;
        s.title = word(), s.unit = word(), s.note = word();
        const auto fill = [this](int most, char letter, auto&& make) {
            for (int i = 1, n = integer(1, most); i <= n; ++i) make(fmt::format("{}{}", letter, i * 2));
        };
        fill(2, 'G', [&](const survey::Id& id) { s.groups.push_back(group(id)); });
        fill(4, 'S', [&](const survey::Id& id) { s.stations.push_back(station(s, id)); });
        fill(3, 'L', [&](const survey::Id& id) { s.levels.push_back(level(id)); });
        fill(8, 'F', [&](const survey::Id& id) { s.features.push_back(feature(s, id)); });
        fill(12, 'M', [&](const survey::Id& id) { s.marks.push_back(mark(s, id)); });
        fill(4, 'R', [&](const survey::Id& id) { s.readings.push_back(reading(s, id)); });
        fill(4, 'D', [&](const survey::Id& id) { s.dimensions.push_back(dimension(s, id)); });
        fill(3, 'O', [&](const survey::Id& id) { s.outlines.push_back(outline(s, id)); });
        fill(3, 'C', [&](const survey::Id& id) { s.conditions.push_back(condition(s, id)); });
        if (s.groups.size() > 1 && coin()) s.groups[1].refocusedFrom = s.groups[0].id;
        s.datum = {s.levels.front().id, "", coin() ? pick(s.features).id : ""};
        return s;
    }

  private:
    std::mt19937 random_;
};

}  // namespace trammel::test
