// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/Task.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <limits>

#include "Cases.h"
#include "core/plan/TaskWords.h"

using namespace trammel;
using namespace trammel::plan;

namespace {

Task sound() {
    Task t;
    t.lenses = {{"", 200, 200}};
    return t;
}

bool sentence(const Error& e) {
    const std::string s = e.sentence();
    return s.size() > 10 && s.size() < 300 && s.back() == '.' && s.find('\n') == std::string::npos;
}

}  // namespace

TEST_CASE("a sound task is taken, an unsound number is refused with its name") {
    REQUIRE(check(sound()));
    const double nan = std::nan(""), inf = std::numeric_limits<double>::infinity();
    for (const double bad : {0.0, -1.0, nan, inf, -inf, 1e9}) {
        INFO(bad);
        for (int which = 0; which < 9; ++which) {
            Task t = sound();
            double* const place[] = {&t.sizeX_mm,         &t.sizeY_mm,
                                     &t.need_mm,          &t.sensor.width_mm,
                                     &t.sensor.height_mm, &t.lenses[0].shortest_mm,
                                     &t.room_mm,          &t.reference.length_mm,
                                     &t.caliperReach_mm};
            *place[which] = bad;
            const auto checked = check(t);
            REQUIRE_FALSE(checked);
            CHECK(checked.error().code == ErrorCode::BadValue);
            CHECK(sentence(checked.error()));
        }
        Task t = sound();
        t.markSigma_px = bad;
        CHECK_FALSE(check(t));
    }
    Task t = sound();
    t.heights_mm = {0, nan};
    CHECK_FALSE(check(t));
    t.heights_mm.assign(13, 1.0);
    CHECK_FALSE(check(t));
    t = sound();
    t.lenses.clear();
    CHECK_FALSE(check(t));
    t = sound();
    t.lenses[0] = {"", 135, 85};
    CHECK_FALSE(check(t));
    t = sound();
    t.sensor.height_px = 6000;  // pixels that are not square
    CHECK_FALSE(check(t));
    t = sound();
    t.sizeX_mm = 3000, t.sizeY_mm = 3;
    CHECK_FALSE(check(t));
}

TEST_CASE("what is typed is understood or refused in a sentence") {
    CHECK(*sizeFrom("part", "300x200") == Vec2(300, 200));
    CHECK(*sizeFrom("part", "300 × 200.5") == Vec2(300, 200.5));
    CHECK(*numbersFrom("heights", "0, 12,25") == std::vector<double>{0, 12, 25});
    const auto zoom = lensFrom("85-135,widest=4.5,closest=1500,name=old zoom");
    REQUIRE(zoom);
    CHECK(*zoom == Lens{"old zoom", 85, 135, 4.5, 22, 1500.0});
    CHECK(lensFrom("200")->longest_mm == 200);
    CHECK(sensorFrom("half", {})->width_mm == 17.3);
    CHECK(sensorFrom("23.5x15.6", {})->height_mm == 15.6);
    for (const char* bad : {"", "x", "300", "300x", "300x200x100", "axb", "1e999x3", "nanx3", "300x200mm"}) {
        INFO(bad);
        REQUIRE_FALSE(sizeFrom("part", bad));
        CHECK(sentence(sizeFrom("part", bad).error()));
    }
    for (const char* bad : {"", "long", "85-", "85-135-200", "200,fast", "200,widest=", "200,widest=wide"}) {
        INFO(bad);
        REQUIRE_FALSE(lensFrom(bad));
        CHECK(sentence(lensFrom(bad).error()));
    }
    CHECK(sentence(sizeFrom("part", std::string(100000, '9')).error()));
    CHECK_FALSE(numbersFrom("heights", "0,,3"));
    CHECK_FALSE(squaringFrom("laser"));
    CHECK_FALSE(markingFrom(""));
    CHECK_FALSE(sensorFrom("huge", {}));
    CHECK_FALSE(referenceFrom("rule -5"));
    CHECK_FALSE(referenceFrom("rule nan"));
}

TEST_CASE("a task file is read whole, and its mistakes are named") {
    const auto read = taskFromJson(R"({"size_mm": [120, 80], "heights_mm": [0, 12.5], "need_mm": 0.2,
        "sensor": "crop 1.5", "pixels": [6000, 3983], "lenses": ["105,closest=314", "55-210"], "room_mm": 3000,
        "marks": "clicked", "caliper": false, "reference": "card", "square": "mirror"})",
                                   "task.json");
    REQUIRE(read);
    CHECK(read->sizeY_mm == 80);
    CHECK(read->lenses.size() == 2);
    CHECK(read->markSigma() == 1.5);
    CHECK_FALSE(read->caliper);
    CHECK(read->reference.length_mm == 85.6);
    for (const char* bad :
         {"", "{", "[]", "3", R"({"size_mm": [1]})", R"({"size_mm": [300, 200]})",
          R"({"size_mm": [300, 200], "lenses": ["200"], "hights_mm": [0]})",
          R"({"size_mm": ["a", 200], "lenses": ["200"]})", R"({"size_mm": [300, 200], "lenses": [200]})",
          R"({"size_mm": [300, 200], "lenses": ["200"], "pixels": [1e300, 4]})",
          R"({"size_mm": [300, 200], "lenses": ["200"], "need_mm": null})",
          R"({"size_mm": [300, 200], "lenses": ["200"], "room_mm": -1})"}) {
        INFO(bad);
        const auto refused = taskFromJson(bad, "task.json");
        REQUIRE_FALSE(refused);
        CHECK(sentence(refused.error()));
    }
}

TEST_CASE("reference lengths have the sizes of their standards") {
    CHECK(referenceLength("card")->length_mm == 85.60);  // ISO/IEC 7810 ID-1, long side, nominal
    const test::Cases sheets("reference-lengths");
    for (const auto& row : sheets.rows()) {
        const auto reference = referenceLength(row.text("name"));
        REQUIRE(reference);
        CHECK(reference->length_mm == row.number("nominal_mm"));
        // An even spread between the limits: half their distance over the root of 3 (JCGM 100:2008, 4.3.7).
        CHECK(reference->sigma_mm == Approx(row.number("limit_mm") / std::sqrt(3.0)).epsilon(1e-9));
    }
    CHECK(referenceLength("rule 150")->length_mm == 150);
    CHECK_FALSE(referenceLength("ruler"));
}
