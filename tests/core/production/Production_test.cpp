// SPDX-License-Identifier: GPL-3.0-or-later
// The drawing's pages, painted by poppler and librsvg (Debian) at 600 dpi and measured, and what they say.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "Boards.h"
#include "Painted.h"
#include "core/drawing/Build.h"
#include "core/production/Production.h"
#include "core/production/TitleBlock.h"
#include "core/sheet/WriteSheet.h"

using namespace trammel;
using namespace trammel::boards;
using namespace trammel::production;
using namespace trammel::test;

namespace {

/// A plate of 200 x 120, 6 thick, with two holes of 20 that are 150 apart.
Board plate() {
    Board b;
    b.level("L0", "underside", -6.0);
    b.corner("under", {0, 0}, "L0");
    b.corner("C1", {0, 0}), b.corner("C2", {200, 0}), b.corner("C3", {200, 120}), b.corner("C4", {0, 120});
    b.outline("O1", OutlinePurpose::Outline, {"C1", "C2", "C3", "C4"});
    b.hole("H1", {25, 60}, 20), b.hole("H2", {175, 60}, 20);
    b.survey.datum = {"L1", "H1", "H2"};
    return b;
}

Result<Production> produce(const Board& b, const Terms& terms = {}) {
    return productionOf(b.survey, b.solution, *drawing::build(b.survey, b.solution), terms);
}

struct Words {
    sheet::Text text;
    Vec2 middle, half;  ///< of its box, axis-parallel
};

std::vector<Words> wordsOf(const sheet::Sheet& page) {
    std::vector<Words> out;
    for (const auto& item : page.items) {
        const auto* t = std::get_if<sheet::Text>(&item);
        if (!t || t->words.empty()) continue;
        const double w = sheet::widthOf(*t), c = std::cos(t->angle), s = std::sin(t->angle);
        const double from = t->anchor == sheet::Anchor::Left     ? 0.0
                            : t->anchor == sheet::Anchor::Middle ? -w / 2
                                                                 : -w;
        const Vec2 along(c, s), up(-s, c);
        out.push_back({*t,
                       t->at + (from + w / 2) * along + 0.5 * t->height_mm * up,
                       {0.5 * (w * std::abs(c) + t->height_mm * std::abs(s)),
                        0.5 * (w * std::abs(s) + t->height_mm * std::abs(c))}});
    }
    return out;
}

void checkWords(const Production& p) {
    for (const auto& page : p.pages) {
        const auto words = wordsOf(page);
        const auto [low, high] = drawingSpace(page.paper);
        for (std::size_t i = 0; i < words.size(); ++i) {
            INFO(words[i].text.words);
            CHECK(((words[i].middle - words[i].half - low).array() > 0).all());
            CHECK(((high - words[i].middle - words[i].half).array() > 0).all());
            const bool straight = std::abs(std::sin(2 * words[i].text.angle)) < 1e-9;
            for (std::size_t k = 0; k < i && straight; ++k) {
                if (std::abs(std::sin(2 * words[k].text.angle)) > 1e-9) continue;
                const Vec2 apart =
                    (words[i].middle - words[k].middle).cwiseAbs() - words[i].half - words[k].half;
                INFO(words[k].text.words);
                CHECK(apart.maxCoeff() > -0.05);
            }
        }
    }
}

bool says(const Production& p, const std::string& what) {
    for (const auto& page : p.pages)
        for (const auto& w : wordsOf(page))
            if (w.text.words.find(what) != std::string::npos) return true;
    return false;
}

}  // namespace

TEST_CASE("painted by other programs, the drawing is true to its scale within 0.05 mm") {
    Terms terms;
    terms.scale = standard::Scale{1, 2};
    terms.views = {View::Top};
    const auto p = produce(plate(), terms);
    REQUIRE(p);
    REQUIRE(p->pages.size() >= 1);
    const auto pdf = sheet::pdf(p->pages, "plate");
    const auto svg = sheet::svg(p->pages.front());
    REQUIRE(pdf);
    REQUIRE(svg);
    for (const Grey& g : {paintedPage(*pdf, 1), paintedSvg(*svg)}) {
        CHECK(g.width * 25.4 / 600 == Approx(p->paper.width_mm).margin(0.05).epsilon(0));
        // Just outside of a hole's rim a row meets the outline and both centre lines that stand up, a column
        // the outline and the one that lies.
        const auto meets = [&](bool row, const std::vector<double>& at) {
            const double end = row ? p->paper.height_mm : p->paper.width_mm;
            for (double k = 20; k < end - 20; k += 0.5) {
                const auto runs = darkMiddles(g, row, row ? rowAt(g, k) : columnAt(k));
                for (const double start : runs)
                    if (std::count_if(runs.begin(), runs.end(),
                                      [&](double r) {
                                          return r > start - 0.05 && r < start + at.back() + 0.05;
                                      }) <= 8 &&  // more: a line of text
                        std::all_of(at.begin(), at.end(), [&](double d) {
                            return std::any_of(runs.begin(), runs.end(),
                                               [&](double r) { return std::abs(r - start - d) < 0.05; });
                        }))
                        return true;
            }
            return false;
        };
        CHECK(meets(true, {0, 12.5, 87.5, 100}));
        CHECK(meets(false, {0, 30, 60}));
        CHECK_FALSE(meets(true, {0, 12.5, 87.5, 99.8}));
    }
}

TEST_CASE("no text of a drawing is clipped or lies over another") {
    for (const bool third : {false, true})
        for (const Board& b : {demoBoard(), plate()}) {
            Terms terms;
            terms.method = third ? unfold::Method::ThirdAngle : unfold::Method::FirstAngle;
            terms.views = {View::Top, View::Left, View::Right};
            const auto p = produce(b, terms);
            REQUIRE(p);
            checkWords(*p);
        }
    for (unsigned seed = 1; seed <= 20; ++seed) {
        double truth = 0.0;
        const Board b = randomBoard(seed, truth);
        const auto built = drawing::build(b.survey, b.solution);
        if (!built) continue;
        const auto p = productionOf(b.survey, b.solution, *built, {});
        INFO(seed);
        REQUIRE(p);
        checkWords(*p);
    }
    Board wordy = plate();
    wordy.survey.title =
        "A part whose name is so long that no title block of any standard could hold it in full";
    wordy.survey.unit = std::string(300, 'W');
    for (int i = 0; i < 60; ++i) wordy.survey.note += "Another sentence of a very long note. ";
    Terms small;
    small.paper = sheet::kA4;
    const auto p = produce(wordy, small);
    REQUIRE(p);
    CHECK(p->pages.size() > 1);
    CHECK(says(*p, "…"));
    checkWords(*p);
    // Every sentence of a note that is longer than a page.
    Board endless = plate();
    for (int i = 0; i < 400; ++i)
        endless.survey.note += "Sentence " + std::to_string(1000 + i) + " of many. ";
    const auto long_ = produce(endless, small);
    REQUIRE(long_);
    checkWords(*long_);
    std::string all;
    for (const auto& page : long_->pages)
        for (const auto& w : wordsOf(page)) all += w.text.words + " ";
    for (int i = 0; i < 400; ++i) {
        INFO(i);
        CHECK(all.find(std::to_string(1000 + i)) != std::string::npos);
    }
    // So small that values must lie over each other: said, and the rest is still there.
    Terms tiny;
    tiny.scale = standard::Scale{1, 100};
    const auto over = produce(demoBoard(), tiny);
    REQUIRE(over);
    CHECK_FALSE(over->remark.empty());
    CHECK(says(*over, "values lie over each other"));
    CHECK(says(*over, "Holes, through"));
}

TEST_CASE("a hole table too wide for its sheet loses its least columns and no hole") {
    Board b = plate();
    for (auto& f : b.survey.features) f.name = f.id + " with a name that is by far too long for any table";
    b.survey.levels[0].name = "a level whose name is long too";
    const auto rows = holeRows(*drawing::build(b.survey, b.solution), b.survey, b.solution);
    const auto cells = [&](double width) {
        std::size_t n = 0;
        for (const auto& item : holeTable(rows, 0, rows.size(), width).items)
            n += std::holds_alternative<sheet::Text>(item);
        return n;
    };
    CHECK(cells(1000) == 1 + 7 * 3);
    const double whole = holeTable(rows, 0, rows.size(), 1000).size.x();
    CHECK(cells(whole + 0.1) == 1 + 7 * 3);
    CHECK(cells(whole - 0.1) == 1 + 6 * 3);
    CHECK(cells(110) == 1 + 5 * 3);
    Terms small;
    small.paper = sheet::kA4;
    const auto p = produce(b, small);
    REQUIRE(p);
    CHECK(says(*p, "Holes, through"));
    checkWords(*p);
}

TEST_CASE("the drawing says once what a shop needs") {
    Terms terms;
    terms.date = "2031-05-17", terms.hash = "0123456789abcdef";
    const auto p = produce(demoBoard(), terms);
    REQUIRE(p);
    for (const char* words : {"Demo board", "no. 1", "2031-05-17", "0123456789ab", "First angle, ISO 5456-2",
                              "millimetres", "M3 fine (3.2)", "120.000 ±0.034", "12.500 ±0.018",
                              "IEC 60825-1", "Level base: z = 0.000 mm", "90.000 ±0.029 deg"})
        CHECK(says(*p, words));
    CHECK_FALSE(says(*p, "0123456789abc"));
    REQUIRE(p->holes.size() == 5);
    CHECK(p->holes[0].letter == "A");
    // Every diameter stands in the hole table, and its dimension is not repeated in a view.
    int times = 0;
    for (const auto& page : p->pages)
        for (const auto& w : wordsOf(page)) times += w.text.words.rfind("⌀3.2", 0) == 0;
    CHECK(times == 4);
    CHECK_FALSE(p->tolerance);  // holes made by hand have no ±
    CHECK(says(*p, "none"));
}

TEST_CASE("many holes get letters in order, and their table goes on over pages") {
    CHECK(letterFor(0) == "A");
    CHECK(letterFor(8) == "J");
    CHECK(letterFor(23) == "Z");
    CHECK(letterFor(24) == "AA");
    CHECK(letterFor(24 * 25) == "AAA");
    Board b;
    b.corner("C1", {0, 0}), b.corner("C2", {400, 0}), b.corner("C3", {400, 300}), b.corner("C4", {0, 300});
    b.outline("O1", OutlinePurpose::Outline, {"C1", "C2", "C3", "C4"});
    for (int i = 0; i < 150; ++i)
        b.hole("H" + std::to_string(i), {20.0 + 25 * (i % 15), 20.0 + 25 * (i / 15)}, 5.5);
    Terms terms;
    terms.paper = sheet::kA3;
    const auto p = produce(b, terms);
    REQUIRE(p);
    CHECK(p->holes.size() == 150);
    CHECK(says(*p, "Holes, through (continued)"));
    CHECK(says(*p, letterFor(149)));
}

TEST_CASE("paper is the smallest that shows the part at half its size, and what fits nothing is refused") {
    const auto chosen = produce(plate());
    REQUIRE(chosen);
    CHECK(chosen->scale.factor() >= 0.5);
    Terms terms;
    terms.paper = sheet::kA4;
    terms.scale = standard::Scale{1, 1};
    const auto none = produce(plate(), terms);
    REQUIRE_FALSE(none);
    CHECK(none.error().sentence() ==
          "drawing: no room for these views on A4 at 1:1; choose larger paper, a smaller scale or fewer "
          "views.");
    Terms bad;
    bad.thickness_mm = -1;
    CHECK_FALSE(produce(plate(), bad));
    bad.thickness_mm = std::nan("");
    CHECK_FALSE(produce(plate(), bad));
    bad = {};
    bad.views = {View::Oblique};
    CHECK_FALSE(produce(plate(), bad));
    drawing::Options below;
    below.face = drawing::Face::Bottom;
    const Board b = plate();
    CHECK_FALSE(productionOf(b.survey, b.solution, *drawing::build(b.survey, b.solution, below), {}));
}
