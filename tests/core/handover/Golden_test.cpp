// SPDX-License-Identifier: GPL-3.0-or-later
// The files of one small invented board against their approved copies in tests/golden/handover.
// To approve a change that is meant, look at it first: tests/golden/approve.sh BUILD-FOLDER
#include "Golden.h"

#include <catch2/catch.hpp>

#include "Boards.h"
#include "core/drawing/Build.h"
#include "core/handover/DxfWriter.h"
#include "core/handover/Inspect.h"
#include "core/handover/Table.h"

using namespace trammel;
using namespace trammel::boards;
using namespace trammel::handover;

namespace {

drawing::Drawing plate() {
    Board b;
    b.edge("E1", {2, 0}, {28, 0});
    b.edge("E2", {30, 2}, {30, 14});
    b.arc("A1", {25, 15}, 5, 10, 80);
    b.edge("E3", {24, 20}, {2, 20});
    b.edge("E4", {0, 18}, {0, 2});
    b.outline("O1", OutlinePurpose::Outline, {"E1", "E2", "A1", "E3", "E4"});
    b.hole("H1", {5, 5}, 3.2);
    b.dimension("D1", Quantity::Distance, {"E4", "E2"}, 30, 0.034);
    b.dimension("D2", Quantity::Diameter, {"H1"}, 3.2, 0.041);
    return *drawing::build(b.survey, b.solution);
}

}  // namespace

TEST_CASE("the approved files come out again, byte for byte") {
    const drawing::Drawing d = plate();
    const auto modern = dxfText(d, DxfVersion::R2000), old = dxfText(d, DxfVersion::R12);
    REQUIRE(modern);
    REQUIRE(old);
    for (const auto& [name, text] :
         {std::pair<std::string, std::string>{"handover/plate-r2000.dxf", *modern},
          {"handover/plate-r12.dxf", *old},
          {"handover/plate.csv", dimensionsCsv(d)},
          {"handover/plate.txt", contentsText(inspect(*parseDxf(*modern, "plate.dxf"), "plate.dxf"))}}) {
        INFO(name);
        DYNAMIC_SECTION(name) { test::checkGolden(name, text); }
    }
}
