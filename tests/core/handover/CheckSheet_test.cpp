// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/CheckSheet.h"

#include <unistd.h>

#include <catch2/catch.hpp>
#include <cerrno>
#include <nlohmann/json.hpp>
#include <numbers>

#include "Boards.h"
#include "TemporaryFolder.h"
#include "core/handover/Compare.h"

using namespace trammel;
using namespace trammel::boards;
using namespace trammel::handover;

namespace {

constexpr double kPi = std::numbers::pi;

CheckSheet sheetOf(const drawing::Drawing& d, DxfVersion version = DxfVersion::R2000) {
    const auto text = dxfText(d, version);
    REQUIRE(text);
    return checkSheet(*parseDxf(*text, "demo.dxf"), "demo.dxf", "");
}

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// Lets the n-th write of a file fail as on a full disk.
class FullDisk : public storage::Disk {
  public:
    explicit FullDisk(int failAt) : left_(failAt) {}
    long write(int file, const char* bytes, std::size_t size) override {
        if (--left_ == 0) return errno = ENOSPC, -1;
        return Disk::write(file, bytes, size);
    }
    int left_;
};

}  // namespace

TEST_CASE("the check sheet of the demo board, against school geometry") {
    const Board b = demoBoard();
    const auto d = drawing::build(b.survey, b.solution);
    REQUIRE(d);
    for (const auto version : {DxfVersion::R2000, DxfVersion::R12}) {
        const CheckSheet c = sheetOf(*d, version);
        CHECK((c.cut->high - c.cut->low - Vec2(120, 80)).norm() < 1e-9);
        // 120 x 80 less three corners, the notch, the slot and four holes; the shelf has no outline.
        const double area = 9600 - 3 * (25 - 25 * kPi / 4) - 200 - (60 + 9 * kPi) - 4 * kPi * 1.6 * 1.6;
        CHECK(c.area_mm2 == Approx(area).epsilon(1e-9));
        CHECK(c.outer == 1);
        CHECK(c.inner == 7);
        CHECK(c.open == 0);
        REQUIRE(c.holes.size() == 2);
        CHECK(c.holes[0].count == 4);
        CHECK(c.holes[1].diameter_mm == Approx(6));
        CHECK(c.revision == "A");
        CHECK(c.what == "Demo board; unit: no. 1");
        CHECK(c.face == "Face shown: top.");
        CHECK(has(c.kerf, "Kerf: not compensated in this file."));
        CHECK(has(c.kerf, "whoever cuts compensates the kerf."));
        CHECK(has(c.mark, "has no counterpart on the other side"));
        CHECK(c.dimensions.size() == 6);
        CHECK(has(checkText(c), "overall, cut     120.000 x 80.000 mm\n"));
        const auto j = nlohmann::json::parse(checkJson(c));
        CHECK(j["check"]["holes"][0]["count"] == 4);
        CHECK(j["check"]["differences"].is_null());
    }
}

TEST_CASE("a part that is its own mirror image has no mark of its face") {
    Board b;
    b.corner("C1", {0, 0}), b.corner("C2", {40, 0}), b.corner("C3", {40, 20}), b.corner("C4", {0, 20});
    b.outline("O1", OutlinePurpose::Outline, {"C1", "C2", "C3", "C4"});
    b.hole("H1", {5, 5}, 3), b.hole("H2", {35, 5}, 3);
    CHECK(has(sheetOf(*drawing::build(b.survey, b.solution)).mark, "none: holes and contours lie alike"));
    b.hole("H3", {5, 15}, 3);
    const CheckSheet c = sheetOf(*drawing::build(b.survey, b.solution));
    CHECK(has(c.mark,
              "the hole of 3.00 mm at the upper left, 5.00 mm from the left and 15.00 mm from the lower"));
}

TEST_CASE("a file says under which terms it was drawn, and is drawn the same again from them") {
    const Board b = demoBoard();
    Terms terms;
    terms.face = drawing::Face::Bottom;
    terms.revision = "C";
    terms.version = DxfVersion::R12;
    terms.kerf = {0.15, drawing::KeptSide::Sheet};
    terms.nominal_mm = 0.25;
    for (const double kerf : {0.15, 0.0}) {
        terms.kerf.width_mm = kerf;
        const auto d = drawingOf(b.survey, b.solution, terms);
        if (!d) FAIL(d.error().sentence());
        const auto file = parseDxf(*dxfText(*d, terms.version), "demo.dxf");
        REQUIRE(file);
        const Terms stated = termsStated(*file);
        CHECK(stated.face == terms.face);
        CHECK(stated.revision == "C");
        CHECK(stated.version == terms.version);
        CHECK(stated.kerf.width_mm == kerf);
        CHECK((kerf == 0 || stated.kerf.side == drawing::KeptSide::Sheet));
        CHECK(stated.nominal_mm == 0.25);
        const auto again = drawingOf(b.survey, b.solution, stated);
        REQUIRE(again);
        CHECK(differences(*again, *file).empty());
        Terms newer = stated;
        newer.revision = "D";
        const auto other = differences(*drawingOf(b.survey, b.solution, newer), *file);
        REQUIRE(other.size() == 1);
        CHECK(other[0] == "it is revision C, and revision D is meant");
    }
}

TEST_CASE("files of a hand-over stand under their names all or none") {
    const Board b = demoBoard();
    const auto old = drawingOf(b.survey, b.solution, {});
    Terms newer;
    newer.revision = "B";
    const auto d = drawingOf(b.survey, b.solution, newer);
    REQUIRE(old);
    REQUIRE(d);
    int failed = 0;
    for (int step = 1;; ++step) {
        const test::TemporaryFolder folder;
        CheckSheet check;
        storage::Disk disk;
        const auto first = deliverSet(*old, {}, folder.path(), "part", check, disk);
        REQUIRE(first);
        std::vector<std::string> before;
        for (const auto& file : first->all()) before.push_back(test::bytesOf(file));
        FullDisk full(step);
        const auto second = deliverSet(*d, newer, folder.path(), "part", check, full);
        CHECK(folder.count() == 7);
        for (std::size_t i = 0; i < before.size(); ++i) {
            const bool same = test::bytesOf(first->all()[i]) == before[i];
            CHECK((same != static_cast<bool>(second)));
        }
        if (second) break;
        ++failed;
        CHECK(second.error().code == ErrorCode::WriteFailed);
    }
    CHECK(failed == 7);
}
