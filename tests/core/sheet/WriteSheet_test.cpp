// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/sheet/WriteSheet.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <limits>
#include <sstream>
#include <vector>

#include "Painted.h"

using namespace trammel;
using namespace trammel::sheet;
using namespace trammel::test;

namespace {

/// Two vertical strokes 100 mm apart, two horizontal ones 100 mm apart, on A4.
Sheet bars() {
    Sheet page;
    const Pen pen{0.5};
    for (const double at : {40.0, 140.0}) {
        page.add(Polyline{{Vec2(at, 30), Vec2(at, 35)}, false, pen});
        page.add(Polyline{{Vec2(30, at + 20), Vec2(35, at + 20)}, false, pen});
    }
    return page;
}

void checkBars(const Grey& g) {
    CHECK(g.width * 25.4 / 600 == Approx(210.0).margin(0.05).epsilon(0));
    CHECK(g.height * 25.4 / 600 == Approx(297.0).margin(0.05).epsilon(0));
    const auto across = darkMiddles(g, true, static_cast<int>((297 - 32.5) / 25.4 * 600));
    REQUIRE(across.size() == 2);
    CHECK(across[0] == Approx(40.0).margin(0.02).epsilon(0));
    CHECK(across[1] - across[0] == Approx(100.0).margin(0.02).epsilon(0));
    const auto down = darkMiddles(g, false, static_cast<int>(32.5 / 25.4 * 600));
    REQUIRE(down.size() == 2);
    CHECK(297 - down[1] == Approx(60.0).margin(0.03).epsilon(0));
    CHECK(down[1] - down[0] == Approx(100.0).margin(0.02).epsilon(0));
}

}  // namespace

TEST_CASE("a PDF painted by another program has its bars at true scale") {
    const auto bytes = pdf({bars()}, "bars");
    REQUIRE(bytes);
    checkBars(painted(*bytes, ".pdf", "pdftoppm -gray -r 600 -singlefile"));  // poppler
}

TEST_CASE("an SVG painted by another program has its bars at true scale") {
    const auto bytes = svg(bars());
    REQUIRE(bytes);
    CHECK(bytes->find("width=\"210mm\"") != std::string::npos);
    CHECK(bytes->find("viewBox=\"0 0 210 297\"") != std::string::npos);
    checkBars(painted(
        *bytes, ".svg",
        "sh -c 'rsvg-convert -d 600 -p 600 -b white -f pdf \"$0\" | pdftoppm -gray -r 600 -singlefile -'"));
}

TEST_CASE("pages have the sizes of ISO 216, and what is no number is refused") {
    // ISO 216: an A sheet is half of the next larger one, cut across its long side, rounded down.
    const std::vector<Paper> sizes{kA0, kA1, kA2, kA3, kA4};
    for (std::size_t i = 1; i < sizes.size(); ++i) {
        CHECK(sizes[i].height_mm == sizes[i - 1].width_mm);
        CHECK(sizes[i].width_mm == std::floor(sizes[i - 1].height_mm / 2));
    }
    CHECK_FALSE(pdf({}, "none"));
    Sheet bad = bars();
    bad.add(Text{Vec2(std::numeric_limits<double>::quiet_NaN(), 0), "x"});
    CHECK_FALSE(pdf({bad}, "bad"));
    CHECK_FALSE(svg(bad));
    Sheet none = bars();
    none.paper = {"none", 0.0, 297.0};
    CHECK_FALSE(svg(none));
}

TEST_CASE("text is measured as it is written, and broken where it grows too wide") {
    const double one = widthOf({Vec2::Zero(), "nine", 5.0});
    CHECK(one > 5.0);
    CHECK(widthOf({Vec2::Zero(), "ninenine", 5.0}) == Approx(2 * one).margin(1e-6).epsilon(0));
    CHECK(widthOf({Vec2::Zero(), "nine", 2.5}) == Approx(one / 2).margin(1e-6).epsilon(0));
    const auto lines = brokenToWidth("one two three four five six seven", 2.5, 20.0);
    REQUIRE(lines.size() > 1);
    std::string joined;
    for (const auto& line : lines) {
        CHECK(widthOf({Vec2::Zero(), line, 2.5}) <= 20.0);
        joined += (joined.empty() ? "" : " ") + line;
    }
    CHECK(joined == "one two three four five six seven");
    CHECK(brokenToWidth("", 2.5, 20.0).empty());
    CHECK(brokenToWidth("unbreakablewordoverall", 2.5, 5.0).size() == 1);
}
