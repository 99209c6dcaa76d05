// SPDX-License-Identifier: GPL-3.0-or-later
// Rules files, and boards made by hand that break one rule each.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "Boards.h"
#include "core/drawing/Build.h"
#include "core/drawing/Kerf.h"
#include "core/rules/CheckRules.h"
#include "core/rules/Webs.h"

using namespace trammel;
using namespace trammel::boards;
using namespace trammel::rules;

namespace {

/// A plate of 100 x 60 with four rounded corners of radius 1 and holes as a test needs them.
Board plate() {
    Board b;
    b.edge("E1", {2, 0}, {98, 0}), b.edge("E2", {100, 2}, {100, 58});
    b.edge("E3", {98, 60}, {2, 60}), b.edge("E4", {0, 58}, {0, 2});
    b.arc("A1", {99, 1}, 1, -80, -10), b.arc("A2", {99, 59}, 1, 10, 80);
    b.arc("A3", {1, 59}, 1, 100, 170), b.arc("A4", {1, 1}, 1, 190, 260);
    b.outline("plate", OutlinePurpose::Outline, {"E1", "A1", "E2", "A2", "E3", "A3", "E4", "A4"});
    return b;
}

drawing::Drawing drawn(const Board& b) { return *drawing::build(b.survey, b.solution); }

Findings found(const drawing::Drawing& d, const ShopRules& r, double thickness = 0.0, double kerf = 0.0) {
    const auto f = check(d, r, thickness, kerf);
    REQUIRE(f);
    return *f;
}

ShopRules shop() {
    ShopRules r;
    r.name = "Shop (invented)";
    return r;
}

std::string errorOf(const std::string& json) {
    const auto r = rulesFromJson(json, "shop.json");
    return r ? "none" : r.error().sentence();
}

}  // namespace

TEST_CASE("the examples of invented shops are read, and say that they are invented") {
    const auto folder = std::filesystem::path(TRAMMEL_SAMPLES).parent_path() / "resources" / "rules";
    int count = 0;
    for (const auto& file : std::filesystem::directory_iterator(folder)) {
        const auto r = loadRules(file.path());
        INFO(file.path().filename());
        REQUIRE(r);
        CHECK(r->name.find("(invented)") != std::string::npos);
        CHECK(r->note.find("invented") != std::string::npos);
        CHECK(r->bed_mm);
        CHECK(r->compensates);
        ++count;
    }
    CHECK(count == 3);
}

TEST_CASE("rules that cannot be understood are refused by file and key") {
    CHECK(errorOf("{") == "shop.json: is no JSON; take one of resources/rules as a pattern.");
    CHECK(errorOf("[]").find("holds no shop's rules") != std::string::npos);
    CHECK(errorOf("{\"name\":\"x\"}").find("holds no shop's rules") != std::string::npos);
    const std::string head = "{\"trammel_shop_rules\":1,\"name\":\"x\"";
    CHECK(errorOf(head + "}") == "none");
    CHECK(errorOf("{\"trammel_shop_rules\":2,\"name\":\"x\"}").find("newer version") != std::string::npos);
    CHECK(errorOf("{\"trammel_shop_rules\":1}").find("no name") != std::string::npos);
    for (const auto& [rest, part] :
         {std::pair{"\"smallest_hole\":1", "\"smallest_hole\" is no rule that is known"},
          {"\"smallest_hole_mm\":-1", "\"smallest_hole_mm\" is no number"},
          {"\"smallest_hole_mm\":\"1\"", "\"smallest_hole_mm\" is no number"},
          {"\"smallest_web_mm\":1e400", "shop.json"},
          {"\"bed_mm\":[1]", "no pair"},
          {"\"bed_mm\":[1,null]", "\"bed_mm\" is no number"},
          {"\"format\":\"dwx\"", "\"format\" is none of"},
          {"\"format\":3", "\"format\" is none of"},
          {"\"kerf\":1", "who compensates"},
          {"\"kerf\":{\"compensates\":\"me\"}", "neither shop nor file"},
          {"\"kerf\":{\"compensates\":\"file\"}", "without a width"},
          {"\"kerf\":{\"compensates\":\"shop\",\"wide\":1}", "\"wide\""},
          {"\"note\":1", "\"note\" is no text"}}) {
        INFO(rest);
        CHECK(errorOf(head + "," + rest + "}").find(part) != std::string::npos);
    }
    CHECK_FALSE(loadRules("/nowhere/shop.json"));
    CHECK_FALSE(loadRules(std::filesystem::temp_directory_path()));
}

TEST_CASE("holes are held against the thickness and the shop's least") {
    Board b = plate();
    b.hole("H1", {20, 30}, 1.4), b.hole("H2", {40, 30}, 1.6), b.hole("H3", {60, 30}, 0.4);
    ShopRules r = shop();
    r.smallestHole_mm = 0.5, r.holePerThickness = 0.5;
    const Findings f = found(drawn(b), r, 3.0);
    REQUIRE(f.violations.size() == 2);
    CHECK(f.violations[0].object == "hole H3");
    CHECK(f.violations[1].sentence ==
          "hole H1: its diameter is 1.40 mm, and Shop (invented) asks for 0.5 times the thickness of 3.00 = "
          "1.50 mm; "
          "drill it afterwards, enlarge it or take thinner sheet.");
    // Without a thickness only the least holds, and it is said that the other was not tried.
    const Findings thin = found(drawn(b), r);
    CHECK(thin.violations.size() == 1);
    CHECK(thin.notChecked.size() == 1);
    CHECK_FALSE(check(drawn(b), r, -1.0));
    CHECK_FALSE(check(drawn(b), r, std::nan("")));
}

TEST_CASE("webs and gaps are found where they are narrowest, and corners are none") {
    Board b = plate();
    b.hole("H1", {4, 30}, 5);                                // 1.5 from the edge
    b.hole("H2", {50, 20}, 6), b.hole("H3", {50, 28.2}, 8);  // 1.2 between them
    const auto webs = websBelow(drawn(b), 2.0);
    REQUIRE(webs.size() == 2);
    CHECK(webs[0].width_mm == Approx(1.2).margin(1e-6));
    CHECK(webs[0].material);
    CHECK((0.5 * (webs[0].from + webs[0].to) - Vec2(50, 23.6)).norm() < 0.01);
    CHECK(webs[1].width_mm == Approx(1.5).margin(1e-6));
    CHECK(webs[1].a == "outline plate");
    CHECK(webs[1].b == "hole H1");
    // The rounded corners of radius 1 are narrower than 2 across and no webs.
    CHECK(websBelow(drawn(plate()), 2.0).empty());
    // A bay of 1.5 in the outline, and a neck of 3 under it.
    Board bay;
    const Vec2 at[] = {{0, 0}, {30, 0}, {30, 20}, {20, 20}, {20, 3}, {18.5, 3}, {18.5, 20}, {0, 20}};
    std::vector<Id> chain;
    for (int i = 0; i < 8; ++i) {
        chain.push_back("C" + std::to_string(i));
        bay.corner(chain.back(), at[i]);
    }
    bay.outline("bay", OutlinePurpose::Outline, chain);
    const auto own = websBelow(drawn(bay), 4.0);
    REQUIRE(own.size() == 2);
    CHECK_FALSE(own[0].material);
    CHECK(own[0].width_mm == Approx(1.5));
    CHECK(own[1].material);
    CHECK(own[1].width_mm == Approx(3.0));
    ShopRules r = shop();
    r.smallestWeb_mm = 2.0, r.webPerThickness = 1.0, r.smallestGap_mm = 1.6;
    const Findings f = found(drawn(bay), r, 3.5);
    REQUIRE(f.violations.size() == 2);
    CHECK(f.violations[0].rule == Rule::Web);
    CHECK(f.violations[0].asked_mm == Approx(3.5));
    CHECK(f.violations[1].sentence.find("outline bay: the gap is 1.50 mm wide at x 19.2, y") == 0);
}

TEST_CASE("a narrow slot is a gap whether its sides are parallel or not quite") {
    for (const double taper : {0.0, 0.001, -0.001, 0.1}) {
        INFO(taper);
        Board b = plate();
        const Vec2 at[] = {{40, 30}, {60, 30}, {60, 31 + taper}, {40, 31}};
        std::vector<Id> chain;
        for (int i = 0; i < 4; ++i) {
            chain.push_back("S" + std::to_string(i));
            b.corner(chain.back(), at[i]);
        }
        b.outline("slot", OutlinePurpose::Cutout, chain);
        const auto webs = websBelow(drawn(b), 2.0);
        REQUIRE(webs.size() == 1);
        CHECK_FALSE(webs[0].material);
        CHECK(webs[0].a == "cutout slot");
        // 1 mm from the narrow end, where it stops to be a corner, it is wider by a twentieth of the taper.
        CHECK(webs[0].width_mm == Approx(1.0).margin(0.0011 + 0.06 * std::abs(taper)));
    }
}

TEST_CASE("holes are judged by the finished edges whatever the kerf") {
    Board b = plate();
    b.hole("H1", {20, 30}, 1.6);
    ShopRules r = shop();
    r.smallestHole_mm = 1.5;
    r.compensates = Compensates::File, r.kerf_mm = 0.2;
    const drawing::Drawing d = drawn(b);
    const auto f = check(d, r, 0.0, 0.2);
    REQUIRE(f);
    CHECK(f->violations.empty());
    drawing::Drawing path = d;  // its hole is drawn with 1.4
    REQUIRE(drawing::compensateKerf(path, 0.2, drawing::KeptSide::Part));
    const auto none = check(path, r, 0.0, 0.2);
    REQUIRE_FALSE(none);
    CHECK(none.error().sentence().find("is the path of a tool") != std::string::npos);
}

TEST_CASE("the distance of two pieces is the least of many looks") {
    std::mt19937 random(5);
    std::uniform_real_distribution<double> place(-10, 10), bulge(-1.2, 1.2);
    for (int k = 0; k < 200; ++k) {
        const auto piece = [&](double shift) {
            const Vec2 from(place(random) + shift, place(random)), to(place(random) + shift, place(random));
            return geometry::Piece(from, to, k % 3 == 0 ? 0.0 : bulge(random));
        };
        const geometry::Piece a = piece(0), b = piece(60);
        double least = 1e300;
        for (int i = 0; i <= 3000; ++i) {
            const double t = i / 3000.0, turn = a.startAngle + t * a.sweep;
            const Vec2 p =
                a.isArc() ? Vec2(a.circle.centre + a.circle.radius * Vec2(std::cos(turn), std::sin(turn)))
                          : Vec2(a.from + t * (a.to - a.from));
            least = std::min(least, distance(b, p));
        }
        const Web w = between(a, b);
        CHECK(w.width_mm <= least + 1e-9);
        CHECK(w.width_mm > least - 1e-3);
        CHECK((w.to - w.from).norm() == Approx(w.width_mm));
    }
}

TEST_CASE("bed, short pieces and kerf are told in one sentence each") {
    ShopRules r = shop();
    r.bed_mm = Vec2(60, 100);  // turned, it fits
    CHECK(found(drawn(plate()), r).violations.empty());
    r.bed_mm = Vec2(99, 80);
    const Findings bed = found(drawn(plate()), r);
    REQUIRE(bed.violations.size() == 1);
    CHECK(bed.violations[0].sentence.find(
              "part: it is 100.0 by 60.0 mm, and the bed of Shop (invented) is 99 by 80 mm") == 0);
    r = shop();
    r.smallestPiece_mm = 1.6;  // a quarter of a circle of radius 1 is 1.571 long
    const Findings pieces = found(drawn(plate()), r);
    REQUIRE(pieces.violations.size() == 4);
    CHECK(pieces.violations[0].is_mm == Approx(1.5708).margin(1e-3));
    r = shop();
    r.compensates = Compensates::Shop;
    const drawing::Drawing d = drawn(plate());
    CHECK(found(d, r).violations.empty());
    CHECK(found(d, r, 0.0, 0.2)
              .violations.at(0)
              .sentence.find("kerf: Shop (invented) compensates it and so does this file") == 0);
    r.compensates = Compensates::File, r.kerf_mm = 0.2;
    CHECK(found(d, r, 0.0, 0.2).violations.empty());
    CHECK(found(d, r).violations.at(0).rule == Rule::Kerf);
    CHECK(findingsText(found(d, r, 0.0, 0.2), r).find("nothing is against these rules") != std::string::npos);
    const auto j = nlohmann::json::parse(findingsJson(bed, r));
    CHECK(j["violations"][0]["rule"] == "bed");
}
