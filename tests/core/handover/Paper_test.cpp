// SPDX-License-Identifier: GPL-3.0-or-later
// SVG and template pages, painted by poppler and librsvg (Debian) at 600 dpi and measured.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "Boards.h"
#include "Painted.h"
#include "core/handover/CheckSheet.h"
#include "core/handover/CheckSheetPage.h"
#include "core/handover/SvgWriter.h"
#include "core/handover/Template.h"
#include "core/sheet/WriteSheet.h"

using namespace trammel;
using namespace trammel::boards;
using namespace trammel::handover;
using namespace trammel::test;

namespace {

/// A frame of 250 x 180 with two holes 200 apart.
drawing::Drawing frame() {
    Board b;
    b.corner("C1", {0, 0}), b.corner("C2", {250, 0}), b.corner("C3", {250, 180}), b.corner("C4", {0, 180});
    b.outline("O1", OutlinePurpose::Outline, {"C1", "C2", "C3", "C4"});
    b.hole("H1", {25, 90}, 10), b.hole("H2", {225, 90}, 10);
    return *drawing::build(b.survey, b.solution);
}

}  // namespace

TEST_CASE("the SVG is true to 0.05 mm when librsvg paints it, with its arcs on the right side") {
    const drawing::Drawing d = frame();
    const auto svg = svgText(d);
    REQUIRE(svg);
    CHECK(svg->find("width=\"260mm\" height=\"190mm\" viewBox=\"-5 -185 260 190\"") != std::string::npos);
    CHECK(svg->find("<g id=\"CUT_HOLE_LEVEL_0\"") != std::string::npos);
    CHECK(svg->find("<text") == std::string::npos);
    const Grey g = paintedSvg(*svg);
    const auto across = darkMiddles(g, true, rowAt(g, 95));
    REQUIRE(across.size() == 6);
    for (const auto& [i, x] :
         {std::pair<std::size_t, double>{0, 5}, {1, 25}, {2, 35}, {3, 225}, {4, 235}, {5, 255}})
        CHECK(across[i] == Approx(x).margin(0.05).epsilon(0));
    // A D with its round side to the right: the arc of 180 degrees reaches x = 30.
    Board b;
    b.edge("E1", {2, 0}, {18, 0});
    b.arc("A1", {20, 10}, 10, -80, 80);
    b.edge("E2", {18, 20}, {2, 20});
    b.edge("E3", {0, 18}, {0, 2});
    b.outline("O1", OutlinePurpose::Outline, {"E1", "A1", "E2", "E3"});
    const auto round = svgText(*drawing::build(b.survey, b.solution));
    REQUIRE(round);
    CHECK(round->find(" A 10 10 0 ") != std::string::npos);
    const Grey h = paintedSvg(*round);
    const auto middle = darkMiddles(h, true, rowAt(h, 15));
    REQUIRE(middle.size() == 2);
    CHECK(middle[1] == Approx(35).margin(0.05).epsilon(0));
}

TEST_CASE("template pages: bars, holes over a joint and crosses are where they belong") {
    const drawing::Drawing d = frame();
    TemplateTerms terms;
    const auto t = tilingOf(d, terms);
    REQUIRE(t);
    CHECK(t->rows == 1);
    CHECK(t->columns == 2);
    const auto pages = templatePages(d, terms);
    REQUIRE(pages);
    REQUIRE(pages->size() == 3);
    const auto bytes = sheet::pdf(*pages, "template");
    REQUIRE(bytes);
    // The bars' ends carry ticks: the x bar begins at (35, 55).
    const Grey bars = paintedPage(*bytes, 1);
    const auto x = darkMiddles(bars, true, rowAt(bars, 52.5));
    REQUIRE(x.size() == 2);
    CHECK(x[1] - x[0] == Approx(100).margin(0.05).epsilon(0));
    auto y = darkMiddles(bars, false, columnAt(32.5));  // from above; the words there are none of it
    y.erase(std::remove_if(y.begin(), y.end(), [](double v) { return v < 100; }), y.end());
    REQUIRE(y.size() == 2);
    CHECK(y[1] - y[0] == Approx(100).margin(0.05).epsilon(0));
    // Along a line 6 mm below the holes' centres, beside their centre marks: rims and, on both pages,
    // crosses' arms.
    const auto middles = [&](int column, double partY) {
        const Grey g = paintedPage(*bytes, 2 + column);
        auto list = darkMiddles(g, true, rowAt(g, t->onPage(0, column, Vec2(0, partY)).y()));
        for (double& v : list) v += t->windowLow(0, column).x() - t->corner.x();  // the part's x
        return list;
    };
    const auto left = middles(0, 93), right = middles(1, 93);
    REQUIRE(left.size() >= 3);
    REQUIRE(right.size() >= 3);
    CHECK(left[0] == Approx(0).margin(0.1).epsilon(0));
    CHECK(left[1] == Approx(21).margin(0.1).epsilon(0));  // 3-4-5: 3 above the centre the rim of 5 is 4 off
    CHECK(right.back() == Approx(250).margin(0.1).epsilon(0));
    CHECK(right[right.size() - 2] - left[1] == Approx(208).margin(0.1).epsilon(0));
    // The same cross on both pages of a joint.
    const double crossY = t->low.y() + 0.5 * terms.overlap_mm + 2;
    const double at = t->low.x() + t->step.x() + 0.5 * terms.overlap_mm;
    for (int column = 0; column < 2; ++column) {
        const auto list = middles(column, crossY);
        CHECK(std::any_of(list.begin(), list.end(), [&](double v) { return std::abs(v - at) < 0.05; }));
    }
}

TEST_CASE("what the printed bars measured is taken out of the pages") {
    // A printer that shrinks x to 99.2, stretches y to 100.6 and leans by 0.4 degrees.
    const double lean = 0.4 * 3.14159265358979 / 180;
    Eigen::Matrix2d printer;
    printer << 0.992, -1.006 * std::sin(lean), 0, 1.006 * std::cos(lean);
    const Vec2 ex = printer * Vec2(100, 0), ey = printer * Vec2(0, 100);
    const auto found = printerOf({ex.norm(), ey.norm(), (ex - ey).norm()});
    REQUIRE(found);
    CHECK((*found - printer).norm() < 1e-12);
    TemplateTerms terms;
    terms.bars = {ex.norm(), ey.norm(), (ex - ey).norm()};
    const auto pages = templatePages(frame(), terms), plain = templatePages(frame(), {});
    REQUIRE(pages);
    REQUIRE(plain);
    // Printed by that printer, every point of the corrected page lies where the plain page has it.
    int points = 0;
    for (std::size_t p = 1; p < plain->size(); ++p)
        for (std::size_t i = 0; i < (*plain)[p].items.size(); ++i)
            if (const auto* line = std::get_if<sheet::Polyline>(&(*plain)[p].items[i])) {
                const auto& other = std::get<sheet::Polyline>((*pages)[p].items[i]);
                for (std::size_t k = 0; k < line->points.size(); ++k, ++points)
                    CHECK((printer * other.points[k] - line->points[k]).norm() < 1e-9);
            }
    CHECK(points > 100);
    CHECK_FALSE(printerOf({89, 89, 125.9}));
    CHECK_FALSE(printerOf({100, 100, 120}));
    CHECK_FALSE(printerOf({std::nan(""), 100, 141.42}));
    terms.overlap_mm = 400;
    CHECK_FALSE(templatePages(frame(), terms));
}

TEST_CASE("the check sheet's page keeps its letters on the paper") {
    const drawing::Drawing d = frame();
    const auto text = dxfText(d);
    REQUIRE(text);
    const CheckSheet c = checkSheet(*parseDxf(*text, "frame.dxf"), "frame.dxf", std::string(64, 'a'));
    for (const auto& page : checkPages(c))
        for (const auto& item : page.items)
            if (const auto* t = std::get_if<sheet::Text>(&item)) {
                INFO(t->words);
                const double from = t->anchor == sheet::Anchor::Right ? t->at.x() - widthOf(*t) : t->at.x();
                CHECK(from >= 10);
                CHECK(from + widthOf(*t) <= page.paper.width_mm - 10);
                CHECK(t->at.y() >= 8);
                CHECK(t->at.y() <= page.paper.height_mm - 10);
            }
    CHECK(sheet::pdf(checkPages(c), "check"));
}

TEST_CASE("tabs leave gaps in the template's cut lines, where they are wide enough, and nowhere else") {
    const drawing::Drawing d = frame();
    Tabs tabs;
    tabs.width_mm = 2.0;
    // Sides of 250, 180, 250 and 180: at one every 80 mm, three and two each.
    const Runs runs = runsOf(d.chains[0].chain, tabs, 0.002);
    CHECK(runs.tabs == 10);
    REQUIRE(runs.runs.size() == 10);
    double length = 0.0;
    for (const auto& r : runs.runs)
        for (std::size_t i = 1; i < r.size(); ++i) length += (r[i] - r[i - 1]).norm();
    CHECK(length == Approx(2 * (250 + 180) - 10 * 2.0));
    tabs.least_mm = 300.0;
    CHECK(runsOf(d.chains[0].chain, tabs, 0.002).closed);
    CHECK(runsOf(geometry::circleChain({{0, 0}, 3}), {2.0}, 0.002).tabs == 0);
    // On paper: the lower side of 250 has its middle tab at 125, 2 wide.
    TemplateTerms terms;
    terms.paper = sheet::lying(sheet::kA3);
    terms.tabs.width_mm = 2.0;
    const auto pages = templatePages(d, terms);
    REQUIRE(pages);
    REQUIRE(pages->size() == 2);
    const auto tiling = tilingOf(d, terms);
    const auto pdf = sheet::pdf(*pages, "tabs");
    REQUIRE(pdf);
    const Grey g = paintedPage(*pdf, 2);
    const Vec2 at = tiling->onPage(0, 0, {125, 0});
    const auto dark = [&](double x) { return g.at(columnAt(x), rowAt(g, at.y())) < 128; };
    CHECK_FALSE(dark(at.x()));
    CHECK_FALSE(dark(at.x() - 0.9));
    CHECK_FALSE(dark(at.x() + 0.9));
    CHECK(dark(at.x() - 1.1));
    CHECK(dark(at.x() + 1.1));
    terms.tabs.width_mm = 11.0;
    CHECK_FALSE(templatePages(d, terms));
    CHECK(tabWords(d, {2.0}).find("10 tabs of 2.00 mm are left") == 0);
    CHECK(tabWords(d, {}).empty());
    tabs.least_mm = 300.0;
    CHECK(tabWords(d, tabs).find("No tab is left although tabs of 2.00 mm were asked for") == 0);
    // A last side whose tab would stand 25 before the first one, over the beginning of the chain.
    geometry::Chain bent;
    for (const Vec2& p :
         {Vec2(0, 0), Vec2(30, 0), Vec2(30, 100), Vec2(0, 100), Vec2(0, 70), Vec2(-20, 70), Vec2(-20, 0)})
        bent.vertices.push_back({p, 0.0});
    Tabs apart;
    apart.width_mm = 2.0;
    // Middles at 15, 80, 145, 175 (30 after the last: none), 200, 245 and 290 (25 before the first: none).
    const Runs round = runsOf(bent, apart, 0.002);
    CHECK(round.tabs == 5);
}
