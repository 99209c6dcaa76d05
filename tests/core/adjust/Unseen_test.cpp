// SPDX-License-Identifier: GPL-3.0-or-later
// Readings and dimensions on things that no active mark shows must neither be accused nor stop the rest.
#include <algorithm>

#include "Sample.h"
#include "core/adjust/Report.h"
#include "core/adjust/Retract.h"

using namespace trammel;
using namespace trammel::adjust;

TEST_CASE("a tape on an excluded photograph says nothing and stops nothing") {
    survey::Survey s = test::draw(true, 1);
    bool taped = false;
    for (const survey::Reading& r : s.readings)
        if (r.quantity == survey::Quantity::Tape)
            for (survey::Station& st : s.stations)
                if (st.id == r.objects.front() && st.view != survey::View::Top) taped = st.excluded = true;
    REQUIRE(taped);
    const auto solution = adjust::adjust(s);
    REQUIRE(solution);
    CHECK(agrees(*solution));
}

TEST_CASE("a reading and a dimension on a level without marks are left out, the dimension with a note") {
    survey::Survey s = test::draw(true, 1);
    s.levels.push_back({"L99", "upper deck"});
    survey::Reading r;
    r.id = "R99";
    r.quantity = survey::Quantity::Depth;
    r.objects = {s.datum.level, "L99"};
    r.measured = {10.0, 0.05};
    s.readings.push_back(r);
    survey::Dimension d;
    d.id = "D99";
    d.name = "deck height";
    d.quantity = survey::Quantity::Height;
    d.objects = {"L99"};
    s.dimensions.push_back(d);
    const auto solution = adjust::adjust(s);
    REQUIRE(solution);
    CHECK(solution->suspects.empty());
    CHECK(solution->dimensions.size() + 1 == s.dimensions.size());
    bool noted = false;
    for (const std::string& note : solution->notes)
        noted = noted || (note.find("deck height") != std::string::npos &&
                          note.find("upper deck") != std::string::npos);
    CHECK(noted);
}

TEST_CASE("the datum must be marked in a photograph that is in use") {
    survey::Survey s = test::draw(true, 1);
    survey::Id only;
    for (survey::Mark& m : s.marks)
        if (m.feature == s.datum.origin) {
            if (only.empty()) only = m.station;
            m.excluded = m.station != only;
        }
    for (survey::Station& st : s.stations)
        if (st.id == only) st.excluded = true;
    const auto solution = adjust::adjust(s);
    REQUIRE_FALSE(solution);
    CHECK(solution.error().object == "datum origin");
}

TEST_CASE("an adjustment that is stopped gives no solution") {
    const survey::Survey s = test::draw(true, 1);
    Progress progress;
    progress.cancel();
    const auto solution = adjust::adjust(s, {}, &progress);
    REQUIRE_FALSE(solution);
    CHECK(solution.error().code == ErrorCode::Cancelled);
}

TEST_CASE("a fitted mark on the wrong edge gets its hand points back, and no other") {
    survey::Survey byHand = test::draw(false, 1), fitted = test::draw(true, 1);
    for (survey::Mark& m : byHand.marks) m.origin = survey::MarkOrigin::Hand;
    survey::Mark* wrong = nullptr;
    for (survey::Mark& m : fitted.marks)
        if (find(fitted.features, m.feature)->kind == survey::FeatureKind::Hole && m.feature != fitted.datum.origin)
            wrong = wrong ? wrong : &m;
    REQUIRE(wrong);
    for (survey::MarkPoint& p : wrong->points) p.px += Vec2(3.0, 2.0);
    const survey::Id id = wrong->id;
    const auto back = retractDisagreeing(fitted, byHand);
    REQUIRE(back.size() <= 2);  // one more may go by chance: one in a thousand does
    CHECK(std::find(back.begin(), back.end(), id) != back.end());
    CHECK(*find(fitted.marks, id) == *find(byHand.marks, id));
}
