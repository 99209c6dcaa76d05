// SPDX-License-Identifier: GPL-3.0-or-later
// Unsound surveys are refused with one sentence that names the object.
#include "Sample.h"

using namespace trammel;
using survey::FeatureKind;
using survey::Quantity;

namespace {

Error refused(const survey::Survey& s) {
    const auto solution = adjust::adjust(s);
    if (solution) FAIL("was not refused");
    const Error e = solution.error();
    INFO(e.sentence());
    CHECK_FALSE(e.what.empty());
    CHECK_FALSE(e.object.empty());
    CHECK_FALSE(e.remedy.empty());
    return e;
}

bool mentions(const Error& e, const std::string& word) {
    return e.sentence().find(word) != std::string::npos;
}

}  // namespace

TEST_CASE("a survey without any length is refused for its scale") {
    survey::Survey s = test::draw(false, 1);
    s.readings.clear();
    const Error e = refused(s);
    CHECK(e.code == ErrorCode::RankDefect);
    CHECK(mentions(e, "scale"));
    CHECK(mentions(e, "reference length"));
}

TEST_CASE("a photograph that shares nothing is named") {
    survey::Survey s = test::draw(false, 1);
    const survey::Id station = test::named(s.stations, "left").id;
    // Its features become others of the same kind and level that no other photograph shows.
    for (survey::Mark& m : s.marks) {
        if (m.station != station) continue;
        survey::Feature copy = *find(s.features, m.feature);
        copy.id += "0000";
        copy.name = "lonely " + copy.name;
        m.feature = copy.id;
        s.features.push_back(copy);
    }
    const Error e = refused(s);
    CHECK(e.code == ErrorCode::NotConnected);
    CHECK(mentions(e, "left"));
}

TEST_CASE("an oblique photograph with too few shared features is named") {
    survey::Survey s = test::draw(false, 1);
    const survey::Id station = test::named(s.stations, "oblique A").id;
    int kept = 0;
    std::erase_if(s.marks, [&](const survey::Mark& m) {
        return m.station == station &&
               (find(s.features, m.feature)->kind != FeatureKind::Corner || ++kept > 2);
    });
    const Error e = refused(s);
    CHECK((e.code == ErrorCode::NotConnected || e.code == ErrorCode::RankDefect));
    CHECK(mentions(e, "oblique A"));
}

TEST_CASE("a corner free in space that one photograph sees is named") {
    survey::Survey s = test::draw(false, 1);
    for (survey::Feature& f : s.features) {
        if (f.kind != FeatureKind::Corner) continue;
        const auto marksOf = [&](const survey::Mark& m) { return m.feature == f.id; };
        const bool read = std::any_of(s.readings.begin(), s.readings.end(), [&](const auto& r) {
            return std::find(r.objects.begin(), r.objects.end(), f.id) != r.objects.end();
        });
        if (read || std::count_if(s.marks.begin(), s.marks.end(), marksOf) < 2) continue;
        bool first = true;
        std::erase_if(s.marks, [&](const survey::Mark& m) {
            return m.feature == f.id && !std::exchange(first, false);
        });
        f.level.clear();
        f.name = "the loose corner";
        break;
    }
    const Error e = refused(s);
    CHECK(e.code == ErrorCode::RankDefect);
    CHECK(mentions(e, "the loose corner"));
    CHECK(mentions(e, "another photograph"));
}

TEST_CASE("heights that one view from above cannot tell are named") {
    render::ObserveOptions options = test::marks(false, 1);
    options.onlyStations = {"top"};
    options.mostDepths = 0;
    survey::Survey s = test::observer().draw(options);
    // A single photograph with the lens known: without it the principal distance would be named as well.
    for (survey::CameraGroup& g : s.groups) g.principalDistance.mode = survey::ConstantMode::Fixed;
    const Error e = refused(s);
    CHECK(e.code == ErrorCode::RankDefect);
    CHECK(mentions(e, "height of level"));
}

TEST_CASE("bad values are refused by the check before anything is computed") {
    const survey::Survey good = test::draw(false, 1);
    const auto with = [&](auto&& change) {
        survey::Survey s = good;
        change(s);
        return refused(s);
    };
    CHECK(with([](auto& s) { s.marks[3].points[0].px.x() = NAN; }).code == ErrorCode::BadValue);
    CHECK(with([](auto& s) { s.marks[3].points[0].sigma_px = 0; }).code == ErrorCode::BadValue);
    CHECK(with([](auto& s) { s.readings[0].measured.value = INFINITY; }).code == ErrorCode::BadValue);
    CHECK(with([](auto& s) { s.readings[0].measured.value = 0; }).code == ErrorCode::BadValue);
    CHECK(with([](auto& s) { s.readings[0].measured.sigma = -1; }).code == ErrorCode::BadValue);
    CHECK(with([](auto& s) { s.groups[0].principalDistance.value = NAN; }).code == ErrorCode::BadValue);
    CHECK(with([](auto& s) { s.marks[0].station = "S99"; }).code == ErrorCode::NotFound);
    CHECK(with([](auto& s) { s.datum.origin = "F999"; }).code == ErrorCode::NotFound);
}

TEST_CASE("absurd but finite values end in a sentence or a solution, never in a crash") {
    const survey::Survey good = test::draw(false, 1);
    for (const double value : {1e-9, 1e9, 1e300}) {
        survey::Survey s = good;
        s.readings[0].measured.value = value;
        const auto solution = adjust::adjust(s);
        if (!solution) CHECK_FALSE(solution.error().sentence().empty());
        s = good;
        s.marks[7].points[0].px = {value, -value};
        const auto again = adjust::adjust(s);
        if (!again) CHECK_FALSE(again.error().sentence().empty());
    }
    survey::Survey s = good;
    for (survey::Mark& m : s.marks)
        for (survey::MarkPoint& p : m.points) p.px = {100, 100};
    CHECK_FALSE(adjust::adjust(s));
    CHECK_FALSE(adjust::adjust(survey::Survey{}));
    Progress stop;
    stop.cancel();
    const auto stopped = adjust::adjust(good, {}, &stop);
    REQUIRE_FALSE(stopped);
    CHECK(stopped.error().code == ErrorCode::Cancelled);
}
