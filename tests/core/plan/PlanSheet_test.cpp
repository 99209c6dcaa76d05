// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/plan/PlanSheet.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "core/plan/PlanFigures.h"
#include "core/sheet/WriteSheet.h"

using namespace trammel;
using namespace trammel::plan;

namespace {

struct Extent {
    std::string words;
    double left, right, low, high;
};

/// Boxes of all lines of text, from base line to the capitals' height.
std::vector<Extent> texts(const sheet::Sheet& page) {
    std::vector<Extent> out;
    for (const sheet::Item& item : page.items)
        if (const auto* t = std::get_if<sheet::Text>(&item)) {
            const double w = sheet::widthOf(*t);
            const double shift = t->anchor == sheet::Anchor::Left     ? 0
                                 : t->anchor == sheet::Anchor::Middle ? 0.5
                                                                      : 1;
            const double left = t->at.x() - shift * w;
            out.push_back({t->words, left, left + w, t->at.y(), t->at.y() + t->height_mm});
        }
    return out;
}

Task board(double x, double y, std::vector<double> heights, Lens lens, double room) {
    Task t;
    t.sizeX_mm = x, t.sizeY_mm = y;
    t.heights_mm = std::move(heights);
    t.lenses = {std::move(lens)};
    t.room_mm = room;
    t.squaring = Squaring::Mirror;  // the longest text
    return t;
}

}  // namespace

TEST_CASE("no line of text is clipped or lies on another, on either paper") {
    const std::vector<Task> tasks = {
        board(300, 200, {0, 12, 25}, {"", 200, 200}, 6000),
        board(40, 60, {0, 3}, {"", 60, 60}, 1500),
        board(900, 300, {0, -14, 60}, {"an old lens of long name", 85, 135, 4, 22, 1500}, 9000),
        board(120, 80, {0}, {"", 400, 400}, 12000),
    };
    for (const Task& task : tasks)
        for (const sheet::Paper& paper : {sheet::kA4, sheet::kLetter}) {
            const auto plan = makePlan(task);
            REQUIRE(plan);
            REQUIRE(plan->served());
            const auto page = planSheet(*plan, paper);
            const auto all = texts(page);
            CHECK(all.size() > 20);
            for (std::size_t i = 0; i < all.size(); ++i) {
                INFO(paper.name << ": " << all[i].words);
                CHECK(all[i].left >= 8);
                CHECK(all[i].right <= paper.width_mm - 8);
                CHECK(all[i].low >= 8);
                CHECK(all[i].high <= paper.height_mm - 8);
                for (std::size_t k = i + 1; k < all.size(); ++k) {
                    INFO("and: " << all[k].words);
                    CHECK((all[i].right <= all[k].left || all[k].right <= all[i].left ||
                           all[i].high <= all[k].low || all[k].high <= all[i].low));
                }
            }
            // Nor does a line of a figure leave the paper's margin.
            for (const sheet::Item& item : page.items)
                if (const auto* p = std::get_if<sheet::Polyline>(&item))
                    for (const Vec2& x : p->points) {
                        CHECK(x.x() >= 8);
                        CHECK(x.x() <= paper.width_mm - 8);
                        CHECK(x.y() >= 8);
                        CHECK(x.y() <= paper.height_mm - 8);
                    }
            CHECK(sheet::pdf({page}, "Plan"));
        }
}

TEST_CASE("the scale is one of ISO 5455 and the figure is drawn to it") {
    CHECK(scaleFor({1000, 100}, {120, 40}) == 1 / 10.0);
    CHECK(scaleFor({1300, 100}, {120, 40}) == 1 / 20.0);
    CHECK(scaleFor({5, 5}, {60, 60}) == 10.0);
    CHECK(scaleText(1 / 20.0) == "1 : 20");
    CHECK(scaleText(2) == "2 : 1");
    const auto plan = makePlan(board(300, 200, {0, 12}, {"", 200, 200}, 6000));
    REQUIRE(plan);
    sheet::Sheet page;
    drawStanding(page, {{10, 100}, {200, 160}}, *plan, true);
    std::string scale;
    double longest = 0;
    for (const sheet::Item& item : page.items) {
        if (const auto* t = std::get_if<sheet::Text>(&item); t && t->words.starts_with("Side elevation"))
            scale = t->words;
        // The dimension line of the stand-off is the longest that is level and unbroken; it ends at lens and
        // part.
        if (const auto* p = std::get_if<sheet::Polyline>(&item);
            p && p->points.size() == 2 && p->pen.dashes_mm.empty() && p->points[0].y() == p->points[1].y())
            longest = std::max(longest, std::abs(p->points[1].x() - p->points[0].x()));
    }
    const double standOff = plan->use.setup.standOff_mm;
    CHECK(scale == "Side elevation, " + scaleText(longest / standOff));
}

TEST_CASE("without a lens that serves the page says why") {
    Task t = board(300, 200, {0}, {"", 600, 600}, 1000);
    const auto plan = makePlan(t);
    REQUIRE(plan);
    const auto all = texts(planSheet(*plan));
    CHECK(all.size() >= 2);
}
