// SPDX-License-Identifier: GPL-3.0-or-later
// Whom the adjustment blames, with which cause, and when it says that it cannot tell.
#include <fmt/core.h>

#include <algorithm>
#include <map>

#include "Sample.h"
#include "core/adjust/ViewDoubt.h"

using namespace trammel;
using namespace trammel::adjust;

namespace {

survey::Mark& mark(survey::Survey& s, const std::string& feature, const std::string& station) {
    const Id f = test::named(s.features, feature).id, st = test::named(s.stations, station).id;
    for (survey::Mark& m : s.marks)
        if (m.feature == f && m.station == st) return m;
    throw std::runtime_error("no mark of " + feature + " in " + station);
}

}  // namespace

TEST_CASE("two photographs alone do not say which of them is wrong, and nobody is accused falsely") {
    const survey::Survey sound = test::draw(true, 7);
    std::map<Id, std::vector<std::size_t>> marks;
    for (std::size_t i = 0; i < sound.marks.size(); ++i) marks[sound.marks[i].feature].push_back(i);
    int alone = 0, either = 0, told = 0, tried = 0;
    for (const auto& [feature, own] : marks) {
        if (own.size() != 2 || tried == 12) continue;
        ++tried;
        survey::Survey s = sound;
        for (auto& p : s.marks[own[0]].points) p.px += Vec2(6.0, 5.0);
        const auto solution = adjust::adjust(s);
        REQUIRE(solution);
        const Id guilty = s.marks[own[0]].id, other = s.marks[own[1]].id;
        for (const Suspect& suspect : solution->suspects) {
            INFO(suspect.sentence);
            const bool pair = !suspect.alternatives.empty();
            if (suspect.object == other) CHECK(pair);  // never the innocent one alone
            if (suspect.object == guilty && !pair) ++alone;
            if (pair && (suspect.object == guilty || suspect.object == other)) {
                ++either;
                told += suspect.decidedBy.empty() ? 0 : 1;
                CHECK(suspect.sentence.find("cannot tell") != std::string::npos);
            }
        }
    }
    fmt::print("  {} features seen twice: {} named alone, {} as one of two, {} with what would tell\n", tried,
               alone, either, told);
    CHECK(either > 0);
    CHECK(told > 0);
}

TEST_CASE("a dimension that rests on one of two that accuse each other says which of them it believes") {
    // Top and front alone: what the front shows of a corner's place and what the top does stand alone.
    int said = 0, pairs = 0;
    const survey::Survey sound = test::draw(true, 7);
    std::map<Id, std::vector<std::size_t>> marks;
    for (std::size_t i = 0; i < sound.marks.size(); ++i) marks[sound.marks[i].feature].push_back(i);
    for (const auto& [feature, own] : marks) {
        const survey::Feature& f = *find(sound.features, feature);
        if (own.size() != 2 || f.kind == survey::FeatureKind::Edge || feature == sound.datum.origin) continue;
        survey::Survey s = sound;
        for (auto& p : s.marks[own[0]].points) p.px += Vec2(6.0, 5.0);
        survey::Dimension d;
        d.id = d.name = "probe";
        d.quantity = survey::Quantity::Distance;
        d.objects = {sound.datum.origin, feature};
        s.dimensions = {d};
        const auto solution = adjust::adjust(s);
        REQUIRE(solution);
        bool pair = false;
        for (const Suspect& suspect : solution->suspects)
            pair = pair || suspect.sentence.find("Nothing else holds") != std::string::npos;
        bool note = false;
        for (const std::string& text : solution->notes)
            note = note || text.starts_with("Dimension probe: either the mark");
        if (note) CHECK(pair);  // never where both are set aside or nobody is accused
        pairs += pair ? 1 : 0;
        said += note ? 1 : 0;
        if (pairs == 6) break;
    }
    fmt::print("  {} pairs that nothing else decides; the dimension says so in {}\n", pairs, said);
    CHECK(pairs > 0);
    CHECK(said > 0);
}

TEST_CASE("a mark on the neighbouring hole is named with its cause, and no sound mark of either hole") {
    int right = 0, sound = 0, tried = 0;
    for (const auto& [hole, neighbour, where] :
         {std::tuple("H6", "H5", "oblique B"), {"H6", "H5", "oblique A"}, {"H2", "H7", "oblique A"}})
        for (std::uint64_t seed = 11; seed < 13; ++seed) {
            survey::Survey s = test::draw(true, seed);
            survey::Mark &m = mark(s, hole, where), &other = mark(s, neighbour, where);
            m.points = other.points;
            for (auto& p : m.points) p.px += Vec2(0.1, -0.1);
            const auto solution = adjust::adjust(s);
            REQUIRE(solution);
            REQUIRE_FALSE(solution->suspects.empty());
            ++tried;
            const Suspect& first = solution->suspects.front();
            INFO(first.sentence);
            right += first.object == m.id && first.cause == Cause::WrongTie &&
                     first.likelyFeature == other.feature;
            for (const Suspect& suspect : solution->suspects) {
                const survey::Mark* also = find(s.marks, suspect.object);
                sound += also && also->id != m.id &&
                         (also->feature == m.feature || also->feature == other.feature);
            }
        }
    fmt::print("  wrong ties named with their cause: {} of {}; sound marks accused: {}\n", right, tried,
               sound);
    CHECK(right == tried);
    CHECK(sound == 0);
}

TEST_CASE("marks of two holes exchanged in one photograph are called so") {
    survey::Survey s = test::draw(true, 8);
    survey::Mark &a = mark(s, "H1", "oblique A"), &b = mark(s, "H3", "oblique A");
    std::swap(a.points, b.points);
    const auto solution = adjust::adjust(s);
    REQUIRE(solution);
    REQUIRE(solution->suspects.size() >= 2);
    for (std::size_t i = 0; i < 2; ++i) {
        INFO(solution->suspects[i].sentence);
        CHECK((solution->suspects[i].object == a.id || solution->suspects[i].object == b.id));
        CHECK(solution->suspects[i].cause == Cause::SwappedTies);
    }
}

TEST_CASE("a flipped photograph is set aside as a whole and called mirrored") {
    for (const char* name : {"front", "oblique A"}) {
        survey::Survey s = test::draw(true, 9);
        const Id station = test::named(s.stations, name).id;
        const auto solution = adjust::adjust(flipPhotograph(s, station));
        REQUIRE(solution);
        REQUIRE_FALSE(solution->suspects.empty());
        INFO(solution->suspects.front().sentence);
        CHECK(solution->suspects.front().object == station);
        CHECK(solution->suspects.front().cause == Cause::MirroredPhotograph);
        CHECK(solution->global.varianceFactor < 1.5);
    }
}

TEST_CASE("redundancy of a shift and the harm of an unseen error are told of every observation") {
    const auto solution = adjust::adjust(test::draw(true, 10));
    REQUIRE(solution);
    int harmful = 0, open = 0;
    for (const ObservationResult& o : solution->observations) {
        CHECK(o.weakest >= 0.0);
        CHECK(o.weakest <= 1.0);
        harmful += o.harm > 0 ? 1 : 0;
        open += o.controlled ? 0 : 1;
    }
    fmt::print("  {} of {} observations controlled by hardly anything\n", open,
               solution->observations.size());
    CHECK(harmful > 100);
}
