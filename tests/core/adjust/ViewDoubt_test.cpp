// SPDX-License-Identifier: GPL-3.0-or-later
// What a photograph shows when it was given the wrong view, or is flipped.
#include "core/adjust/ViewDoubt.h"
#include "Sample.h"

using namespace trammel;
using namespace trammel::adjust;

namespace {

int indexOf(const survey::Survey& s, const std::string& name) {
    for (std::size_t i = 0; i < s.stations.size(); ++i)
        if (s.stations[i].name == name) return static_cast<int>(i);
    throw std::runtime_error("no " + name);
}

std::optional<ViewDoubt> doubt(const survey::Survey& s, int station) {
    const auto others = adjustWithout(s, station, {}, nullptr);
    REQUIRE(others);
    return doubtView(s, station, *others);
}

}  // namespace

TEST_CASE("no photograph of a sound survey is doubted") {
    for (const bool fitted : {false, true}) {
        const survey::Survey s = test::draw(fitted, 3);
        for (std::size_t i = 0; i < s.stations.size(); ++i) {
            const auto d = doubt(s, static_cast<int>(i));
            if (d) FAIL(d->sentence);
        }
    }
}

TEST_CASE("a flipped photograph is called mirrored, or the opposite view where that fits as well") {
    for (const bool fitted : {false, true})
        for (const auto& station : test::draw(fitted, 3).stations) {
            const survey::Survey s = flipPhotograph(test::draw(fitted, 4), station.id);
            const auto d = doubt(s, indexOf(s, station.name));
            REQUIRE(d);
            INFO(d->sentence);
            CHECK(d->cause == Cause::MirroredPhotograph);
            CHECK(d->sentence.find("mirrored") != std::string::npos);
        }
}

TEST_CASE("a photograph given another view is told what it shows") {
    for (const bool fitted : {false, true})
        for (const auto view :
             {survey::View::Front, survey::View::Right, survey::View::Rear, survey::View::Top}) {
            survey::Survey s = test::draw(fitted, 5);
            survey::Station& left = test::named(s.stations, "left");
            left.view = view;
            const auto d = doubt(s, indexOf(s, "left"));
            REQUIRE(d);
            INFO(d->sentence);
            CHECK(
                (d->best.view == survey::View::Left || (d->orElse && d->orElse->view == survey::View::Left)));
        }
}
