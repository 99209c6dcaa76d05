// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/calibrate/LensStore.h"

#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>

#include "TemporaryFolder.h"

using namespace trammel;
using namespace trammel::calibrate;

namespace {

LensRecord record(const char* body, const char* lens, double focal, double focus, const char* date) {
    LensRecord r;
    r.body = body, r.lens = lens, r.focal_mm = focal, r.focus_m = focus, r.date = date;
    r.width = 6000, r.height = 4000;
    r.constants.c = 34000, r.constants.k1 = 0.8;
    r.constants.pp = {3010, 1980};
    r.covariance.diagonal() << 400, 9, 9, 1e-4, 0, 0, 0, 0;
    r.covariance(kDistance, kK1) = r.covariance(kK1, kDistance) = 0.1;
    r.photographs = 12, r.rms_px = 0.05;
    return r;
}

LensInUse use(const char* body, const char* lens, double focal, double focus) {
    return {body, lens, focal, focus, 6000, 4000, 1};
}

constexpr const char* kBody = "Example E1 no. 123";
constexpr const char* kOther = "Example E1 no. 456";
constexpr const char* kLens = "Example Optics 70-200";

}  // namespace

TEST_CASE("a record is kept and found again as it was; one of the same lens and day replaces it") {
    const test::TemporaryFolder folder;
    const LensStore store(folder / "deep/er");
    CHECK(store.all().lenses.empty());
    const LensRecord first = record(kBody, kLens, 200, 2.5, "2026-05-01");
    const auto file = store.keep(first);
    REQUIRE(file);
    REQUIRE(store.keep(record(kBody, kLens, 200, 5, "2026-05-01")));
    REQUIRE(store.keep(record(kBody, "Example Optics/70-200", 200, 2.5, "2026-05-02")));  // plain names alike
    auto contents = store.all();
    REQUIRE(contents.lenses.size() == 3);
    CHECK(contents.lenses.front().record.date == "2026-05-02");
    LensRecord again = first;
    again.constants.c = 34001;
    const auto second = store.keep(again);
    REQUIRE(second);
    CHECK(*second == *file);
    contents = store.all();
    CHECK(contents.lenses.size() == 3);
    const auto loaded = loadLens(*file);
    REQUIRE(loaded);
    CHECK(loaded->constants.c == 34001);
    CHECK(loaded->covariance == again.covariance);
}

TEST_CASE("damaged files are named and stop nothing") {
    const test::TemporaryFolder folder;
    const LensStore store(folder.path());
    REQUIRE(store.keep(record(kBody, kLens, 200, 2.5, "2026-05-01")));
    std::ofstream(folder / "broken.lens.json") << "{\"format\": \"trammel";
    std::ofstream(folder / "empty.lens.json") << "";
    std::ofstream(folder / "huge.lens.json") << std::string(3 << 20, 'x');
    std::ofstream(folder / "letter.txt") << "not ours";
    std::filesystem::create_directory(folder / "folder.lens.json");
    const auto contents = store.all();
    CHECK(contents.lenses.size() == 1);
    REQUIRE(contents.damaged.size() == 3);
    CHECK(contents.damaged[0].sentence().find("broken.lens.json: ") == 0);
    CHECK(contents.damaged[1].sentence().find("empty.lens.json: ") == 0);
    CHECK(contents.damaged[2].sentence().find("huge.lens.json: ") == 0);
    for (const auto& e : contents.damaged) CHECK(e.sentence().find('\n') == std::string::npos);
}

TEST_CASE("a store that cannot be written says so, and a record that is none is not kept") {
    const test::TemporaryFolder folder;
    std::ofstream(folder / "file") << "in the way";
    const auto blocked = LensStore(folder / "file").keep(record(kBody, kLens, 200, 2.5, "2026-05-01"));
    REQUIRE_FALSE(blocked);
    CHECK(blocked.error().code == ErrorCode::WriteFailed);
    CHECK_FALSE(LensStore({}).keep(record(kBody, kLens, 200, 2.5, "2026-05-01")));
    LensRecord bad = record(kBody, kLens, 200, 2.5, "2026-05-01");
    bad.constants.c = std::nan("");
    CHECK_FALSE(LensStore(folder / "lenses").keep(bad));
    CHECK(LensStore(folder / "lenses").all().lenses.empty());
}

TEST_CASE("the folder follows the rules of desktops") {
    // XDG Base Directory Specification: a path that is not whole is to be ignored.
    CHECK(lensFolder("/data", "/base/a") == "/data/trammel/lenses");
    CHECK(lensFolder(nullptr, "/base/a") == "/base/a/.local/share/trammel/lenses");
    CHECK(lensFolder("", "/base/a") == "/base/a/.local/share/trammel/lenses");
    CHECK(lensFolder("not/whole", "/base/a") == "/base/a/.local/share/trammel/lenses");
    CHECK(lensFolder(nullptr, nullptr).empty());
}

TEST_CASE("records are ranked by body, zoom, focus and date; others are left out") {
    LensStore::Contents c;
    const auto put = [&](LensRecord r, const char* note) {
        r.note = note;
        c.lenses.push_back({note, r});
    };
    put(record(kOther, kLens, 200, 2.5, "2026-06-01"), "other body");
    put(record(kBody, kLens, 200, 8.0, "2026-05-04"), "other focus");
    put(record(kBody, kLens, 202, 2.5, "2026-05-03"), "zoom near");
    put(record(kBody, kLens, 200, 2.5, "2026-05-02"), "best");
    put(record(kBody, kLens, 200, 2.5, "2026-05-01"), "older");
    put(record(kBody, kLens, 180, 2.5, "2026-05-02"), "zoom far");
    put(record(kBody, "Example Optics 300", 200, 2.5, "2026-05-02"), "other lens");
    put(record("Example E2 no. 123", kLens, 200, 2.5, "2026-05-02"), "other model");
    LensRecord small = record(kBody, kLens, 200, 2.5, "2026-05-02");
    small.width = 3000, small.height = 2000;
    put(small, "other frame");
    std::vector<std::string> order;
    for (const auto& m : matching(c, use(kBody, kLens, 200, 2.5))) order.push_back(m.record.note);
    CHECK(order == std::vector<std::string>{"best", "older", "other focus", "zoom near", "other body"});
    CHECK(matching(c, use("", "", 200, 2.5)).empty());
    // A lens without contacts: nobody but the user can tell which it is, so each that may be is offered by
    // name.
    const auto unnamed = matching(c, use(kBody, "", 200, 2.5));
    REQUIRE(unnamed.size() == order.size() + 1);
    for (const auto& m : unnamed)
        CHECK(m.sentence.find("only if it is " + m.record.lens) != std::string::npos);
}

TEST_CASE("what differs is said and widens the uncertainties") {
    LensStore::Contents c;
    const LensRecord kept = record(kBody, kLens, 200, 2.5, "2026-05-01");
    c.lenses.push_back({"f", kept});
    const auto only = [&](const LensInUse& wanted) {
        const auto all = matching(c, wanted);
        REQUIRE(all.size() == 1);
        return all.front();
    };
    const LensMatch same = only(use(kBody, kLens, 200, 2.5));
    CHECK(same.sameBody);
    CHECK(same.sameFocus);
    CHECK(same.record.covariance == kept.covariance);
    CHECK(same.sentence ==
          "calibrated on 2026-05-01 with this body, at 200 mm, focused at 2.5 m; principal distance to "
          "±0.12 % (k = 2)");

    // Thin lens: 200 mm at 2.5 m: 1/(f) = 1/a + 1/b with a + b = 2500, b/a = m = 0.1127 → c grows by 1 + m.
    const double m = magnificationAt(200, 2.5);
    const double b = 200 * (1 + m), a = b / m;
    CHECK(1 / a + 1 / b == Approx(1 / 200.0).epsilon(1e-12));
    CHECK(a + b == Approx(2500).epsilon(1e-12));
    CHECK(magnificationAt(200, 0.5) == 0.0);
    const LensMatch far = only(use(kBody, kLens, 200, 10));
    CHECK_FALSE(far.sameFocus);
    CHECK(far.focusChange == Approx((1 + magnificationAt(200, 10)) / (1 + m) - 1));
    CHECK(far.record.constants.c == Approx(34000 * (1 + far.focusChange)));
    CHECK(far.record.sigma(kDistance) > 0.99 * std::abs(far.focusChange) * far.record.constants.c);
    CHECK(far.record.sigma(kK1) > 5 * std::abs(far.focusChange) * 0.79);
    CHECK(far.sentence.find("(here 10 m)") != std::string::npos);

    const LensMatch unknown = only(use(kBody, kLens, 200, 0));
    CHECK(unknown.record.sigma(kDistance) > 0.0299 * 34000);
    CHECK(unknown.sentence.find("focus of these photographs unknown") != std::string::npos);

    const LensMatch other = only(use(kOther, kLens, 200, 2.5));
    CHECK_FALSE(other.sameBody);
    CHECK(other.sentence.find("another body of this model") != std::string::npos);
    CHECK(other.record.sigma(kPointX) == Approx(std::sqrt(30.0 * 30.0 + 9)));

    const LensMatch zoomed = only(use(kBody, kLens, 204, 2.5));
    CHECK(zoomed.record.sigma(kDistance) > 0.0199 * 34000);
    CHECK(zoomed.record.constants.c == Approx(34000 * 204 / 200.0));
    CHECK(zoomed.sentence.find("(here 204 mm)") != std::string::npos);
    // Widened records are records still.
    for (const auto* r : {&far.record, &unknown.record, &other.record, &zoomed.record})
        CHECK(fromJson(toJson(*r)));
}

TEST_CASE("a record serves photographs of a body held on its side") {
    LensStore::Contents c;
    c.lenses.push_back({"f", record(kBody, kLens, 200, 2.5, "2026-05-01")});
    LensInUse wanted = use(kBody, kLens, 200, 2.5);
    wanted.width = 4000, wanted.height = 6000;
    CHECK(matching(c, wanted).empty());
    wanted.orientation = 6;
    const auto all = matching(c, wanted);
    REQUIRE(all.size() == 1);
    CHECK(all.front().record.width == 4000);
    CHECK(all.front().record.constants.pp.x() == Approx(3999 - 1980));
}

TEST_CASE("a record becomes a group's constants as one act that can be taken back") {
    survey::Survey s;
    survey::CameraGroup g;
    g.id = "G1", g.name = "200 mm", g.body = kBody, g.lens = kLens, g.focalLength_mm = 201;
    s.groups = {g};
    survey::Station station;
    station.id = "S1", station.name = "top", station.group = "G1";
    station.photo.width = 5000, station.photo.height = 4000;
    station.photo.crop = {6000, 4000, 500, 0, true};
    s.stations = {station};
    const LensInUse wanted = lensOf(s, "G1", 2.5);
    CHECK(wanted.width == 6000);
    CHECK(wanted.focal_mm == 201);
    LensStore::Contents c;
    c.lenses.push_back({"f", record(kBody, kLens, 200, 2.5, "2026-05-01")});
    const auto all = matching(c, wanted);
    REQUIRE(all.size() == 1);
    const auto edit = useLens(s, "G1", all.front().record);
    REQUIRE(edit);
    const survey::Survey before = s;
    const auto inverse = survey::apply(s, *edit);
    REQUIRE(inverse);
    CHECK(s.groups[0].k1.value == 0.8);
    CHECK(s.groups[0].k1.mode == survey::ConstantMode::Prior);
    CHECK(s.groups[0].k2.mode == survey::ConstantMode::Fixed);
    CHECK(s.groups[0].principalDistance.value == 34000);
    CHECK(s.groups[0].focalLength_mm == 201);
    REQUIRE(survey::apply(s, *inverse));
    CHECK(s == before);
    CHECK_FALSE(useLens(s, "G7", all.front().record));
}

TEST_CASE("a lens is removed, and nothing else is") {
    const test::TemporaryFolder folder;
    const LensStore store(folder / "lenses");
    const auto file = store.keep(record(kBody, kLens, 200, 2.5, "2026-05-01"));
    REQUIRE(file);
    const auto other = folder / "lenses/notes.txt";
    std::ofstream(other) << "mine";
    CHECK_FALSE(store.remove(other));
    CHECK_FALSE(store.remove(folder / "elsewhere.lens.json"));
    CHECK(std::filesystem::exists(other));
    REQUIRE(store.remove(*file));
    CHECK(store.all().lenses.empty());
    const auto twice = store.remove(*file);
    REQUIRE(!twice);
    CHECK(twice.error().sentence().find("not there any more") != std::string::npos);
}
