// SPDX-License-Identifier: GPL-3.0-or-later
// Schedules of boards made by hand, and the joint covariance of the bundled sample.
#include "core/mount/Schedule.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "Boards.h"
#include "core/adjust/Adjust.h"
#include "core/drawing/Build.h"
#include "core/mount/SchedulePage.h"
#include "core/sheet/WriteSheet.h"
#include "core/storage/SurveyFile.h"
#include "core/survey/Names.h"

using namespace trammel;
using namespace trammel::boards;
using namespace trammel::mount;

namespace {

/// A board of 100 x 60, 1.6 thick, with two holes of 3.4 and one of 5.5; a coil hangs 8.25 under it and a
/// block stands 20 over it.
struct Mounted : Board {
    Mounted() {
        level("L0", "underside", -1.6), level("L2", "coil", -9.85), level("L3", "block", 20.0);
        corner("under", {0, 0}, "L0");
        corner("C1", {0, 0}), corner("C2", {100, 0}), corner("C3", {100, 60}), corner("C4", {0, 60});
        outline("O1", OutlinePurpose::Outline, {"C1", "C2", "C3", "C4"});
        hole("H1", {5, 5}, 3.4), hole("H2", {95, 5}, 3.4), hole("H3", {50, 57}, 5.5);
        edge("E1", {40, 20}, {60, 20}, "L2"), edge("E2", {20, 40}, {30, 40}, "L3");
        survey.datum = {"L1", "H1", "H2"};
    }
    Result<Schedule> schedule(const Terms& t = {}) const {
        return scheduleOf(survey, solution, *drawing::build(survey, solution), t);
    }
};

bool says(const std::vector<std::string>& list, const std::string& what) {
    return std::any_of(list.begin(), list.end(),
                       [&](const auto& s) { return s.find(what) != std::string::npos; });
}

}  // namespace

TEST_CASE("heights, thickness, standoff and lengths follow the levels and the stated rules") {
    const auto s = Mounted().schedule();
    REQUIRE(s);
    CHECK(s->thickness_mm == Approx(1.6));
    CHECK(s->over.value_mm == Approx(20.0));
    CHECK(s->over.to == "block");
    CHECK(s->under.value_mm == Approx(8.25));
    CHECK(s->under.to == "coil");
    CHECK(s->standoff_mm == 10.0);  // 8.25 + 1, up to the next whole mm
    REQUIRE(s->holes.size() == 3);
    const MountHole& h3 =
        *std::find_if(s->holes.begin(), s->holes.end(), [](const auto& m) { return m.hole.name == "H3"; });
    CHECK(h3.fastener->thread == std::string("M5"));
    CHECK(h3.clearance_mm == Approx(0.25));
    CHECK(h3.room_mm == Approx(3.0));
    CHECK(h3.roomTo == "outline O1");
    CHECK(says(s->remarks, "a washer of 10.0 mm does not lie flat"));
    // By M5: washer 1 + 1.6 + 10 + nut 4.7 + two pitches of 0.8, and washer + 1.6 + one diameter.
    CHECK(s->reachNut_mm == Approx(1.0 + 1.6 + 10.0 + 4.7 + 1.6));
    CHECK(*s->lengthNut_mm == 20.0);
    CHECK(s->reachThread_mm == Approx(1.0 + 1.6 + 5.0));
    CHECK(*s->lengthThread_mm == 8.0);
    CHECK_FALSE(s->fit);  // no covariance was made by hand
    CHECK(says(s->remarks, "No chance is told"));
    Terms t;
    t.holes = {"H1", "H2"};
    t.counterpart = Counterpart::Medium;
    t.standoff_mm = 5;
    const auto two = Mounted().schedule(t);
    REQUIRE(two);
    CHECK(two->holes[0].clearance_mm == Approx(0.4));  // 0.2 of either
    CHECK(says(two->remarks, "is too short: coil reaches 8.25 mm below"));
    t.thread = "M4";
    CHECK(says(Mounted().schedule(t)->remarks, "is too small for M4"));
}

TEST_CASE("what stands just over the face ends the room for a washer") {
    Mounted m;
    m.level("L4", "low part", 2.0);  // lower than the hole is wide
    m.edge("E3", {7.5, 0}, {7.5, 10}, "L4");
    const auto s = m.schedule();
    REQUIRE(s);
    const MountHole& h1 =
        *std::find_if(s->holes.begin(), s->holes.end(), [](const auto& h) { return h.hole.name == "H1"; });
    CHECK(h1.room_mm == Approx(2.5));
    CHECK(h1.roomTo == "edge E3");
}

TEST_CASE("a stated thickness goes before what hangs under the part") {
    Mounted m;  // without a mark on the underside the coil is the next level down
    auto& f = m.survey.features;
    f.erase(std::find_if(f.begin(), f.end(), [](const auto& x) { return x.id == "under"; }));
    std::erase_if(m.survey.levels, [](const auto& l) { return l.id == "L0"; });
    m.solution.levels.erase("L0"), m.solution.features.erase("under");
    CHECK(m.schedule()->thickness_mm == Approx(9.85));
    Terms t;
    t.thickness_mm = 1.6;
    const auto s = m.schedule(t);
    REQUIRE(s);
    CHECK(s->thickness_mm == Approx(1.6));
    CHECK(s->under.value_mm == Approx(8.25));
    CHECK(s->under.to == "coil");
    CHECK(says(s->remarks, "Outline O1 is 1.600 mm thick, as stated."));
}

TEST_CASE("drills are the usual ones, and their origin is told") {
    // ISO 2306, from memory.
    CHECK(standard::fastenerFor("M8")->tap_mm == 6.8);
    CHECK(standard::fastenerFor("M12")->tap_mm == 10.2);
    for (const auto& f : standard::fasteners())
        CHECK(f.tap_mm == Approx(f.size_mm - f.pitch_mm).margin(0.051));
    CHECK(says(Mounted().schedule()->rules, "from memory"));
}

TEST_CASE("what cannot be scheduled is told by name") {
    const Mounted m;
    const auto words = [&](const Terms& t) {
        const auto s = m.schedule(t);
        return s ? std::string("none") : s.error().sentence();
    };
    Terms t;
    t.holes = {"H9"};
    CHECK(words(t).find("hole H9: is none of the holes") == 0);
    t.holes = {"H1", "H1"};
    CHECK(words(t).find("is chosen twice") != std::string::npos);
    t = {};
    t.thread = "M99";
    CHECK(words(t).find("M99: is no screw of the table") == 0);
    t = {};
    t.made_mm = std::nan("");
    CHECK(words(t).find("0 to 1000 mm") != std::string::npos);
    t = {};
    t.standoff_mm = -1.0;
    CHECK(words(t).find("0 to 1000 mm") != std::string::npos);
    const Board b = demoBoard();
    t = {};
    t.holes = {"H1", "H5"};
    const auto mixed = scheduleOf(b.survey, b.solution, *drawing::build(b.survey, b.solution), t);
    REQUIRE_FALSE(mixed);
    CHECK(mixed.error().sentence().find("hole H5: lies on another level than H1") == 0);
}

TEST_CASE("the joint covariance has the ± of every place and diameter on its diagonal") {
    const auto survey = storage::load(std::string(TRAMMEL_SAMPLES) + "/stepped-board/stepped-board.trammel");
    REQUIRE(survey);
    const auto solution = adjust::adjust(*survey);
    REQUIRE(solution);
    const std::vector<Id> ids{"F67", "F69", "F71", "F73"};
    const auto c = jointCovariance(*solution, ids);
    REQUIRE(c);
    REQUIRE(c->rows() == 12);
    CHECK((*c - c->transpose()).cwiseAbs().maxCoeff() < 1e-12);
    for (std::size_t i = 0; i < 4; ++i) {
        const auto row = static_cast<Eigen::Index>(3 * i);
        const auto pm = [&](Quantity q, std::vector<Id> objects) {
            return production::plusMinusOf(*solution, q, std::move(objects)).value_or(0.0);
        };
        CHECK(2 * std::sqrt((*c)(row + 2, row + 2)) ==
              Approx(pm(Quantity::Diameter, {ids[i]})).epsilon(1e-6));
        if (i == 0) continue;  // the datum
        CHECK(2 * std::sqrt((*c)(row, row)) == Approx(pm(Quantity::OffsetX, {"F67", ids[i]})).epsilon(1e-6));
        if (i > 1)
            CHECK(2 * std::sqrt((*c)(row + 1, row + 1)) ==
                  Approx(pm(Quantity::OffsetY, {"F67", ids[i]})).epsilon(1e-6));
    }
    const auto d = drawing::build(*survey, *solution);
    REQUIRE(d);
    Terms t;
    t.holes = {"H1", "H2", "H3", "H4"};
    t.thread = "M2.5";
    const auto s = scheduleOf(*survey, *solution, *d, t);
    REQUIRE(s);
    REQUIRE(s->fit);
    CHECK(s->fit->shifted >= s->fit->all);
    for (const MountHole& m : s->holes) CHECK(m.chance >= s->fit->all);
    const auto j = nlohmann::json::parse(scheduleJson(*s));
    CHECK(j["holes"].size() == 4);
    CHECK(j["fits_shifted"].get<double>() == s->fit->shifted);
    CHECK(j["holes"][0]["screw"] == "M2.5");
    CHECK(j["holes"][0]["fits_uncertainty"].get<double>() == s->fit->sigmaOf(s->holes[0].chance));
    CHECK(scheduleCsv(*s).find(",fits,fits_uncertainty,") != std::string::npos);
    const std::string csv = scheduleCsv(*s);
    CHECK(std::count(csv.begin(), csv.end(), '\n') == 5);
    // Without a datum the adjustment chooses an origin: the ± are the points' own, and it is named.
    survey::Survey loose = *survey;
    loose.datum.origin.clear(), loose.datum.direction.clear();
    const auto free = adjust::adjust(loose);
    REQUIRE(free);
    const auto origin = production::originOf(loose, *free);
    REQUIRE_FALSE(origin.empty());
    CHECK(production::originWords(loose, *free).find(describe(loose, origin)) != std::string::npos);
    CHECK(production::originWords(*survey, *solution).empty());
    const auto own = jointCovariance(*free, ids);
    REQUIRE(own);
    int told = 0;
    for (const auto& row : production::holeRows(*drawing::build(loose, *free), loose, *free))
        for (std::size_t i = 0; i < ids.size(); ++i)
            if (row.feature == ids[i] && row.feature != origin) {
                const auto k = static_cast<Eigen::Index>(3 * i);
                CHECK(row.centrePlusMinus.x() == Approx(2 * std::sqrt((*own)(k, k))).epsilon(1e-6));
                told += row.centrePlusMinus.x() > 0.0;
            }
    CHECK(told >= 3);
    const auto pages = schedulePages(*s);
    REQUIRE(pages);
    CHECK(sheet::pdf(*pages, "schedule"));
}

TEST_CASE("a chance is never told more surely than its draws allow") {
    FitChance f;
    f.draws = 100000;
    CHECK(chanceWords(f, 1.0) == "> 99.997 %");
    CHECK(chanceWords(f, 0.0) == "< 0.003 %");
    CHECK(chanceWords(f, 0.5) == "50.0 %");
    CHECK(chanceWords(f, 0.9996) == "99.96 %");
    CHECK(chanceWords(f, 0.9999) == "99.99 %");
    CHECK(chanceWords(f, 0.0004) == "0.04 %");
    f.draws = 1000;
    CHECK(chanceWords(f, 0.9995) == "> 99.7 %");
}
