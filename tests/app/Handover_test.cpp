// SPDX-License-Identifier: GPL-3.0-or-later
// handover and inspect as a user runs them: the files, what is said of them, exit codes, bad input.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "OutlinedSurvey.h"
#include "RunProgram.h"

using namespace trammel;
using namespace trammel::test;

namespace {

using Outlined = OutlinedSurvey;

Ran handover(const Outlined& s, std::vector<std::string> more = {}) {
    more.insert(more.begin(), {"handover", s.file().string(), "--out", (s.folder() / "out").string()});
    return runProgram(TRAMMEL_PROGRAM, more);
}

std::string dxf(const Outlined& s, const char* face = "top") {
    return (s.folder() / "out" / (std::string("part-") + face + "-mm.dxf")).string();
}

}  // namespace

TEST_CASE("a survey is handed over, read back and inspected") {
    const Outlined s;
    for (const char* version : {"AC1015", "AC1009"}) {
        std::vector<std::string> options{"--json"};
        if (version == std::string("AC1009")) options.push_back("--r12");
        const Ran ran = handover(s, options);
        INFO(ran.out << ran.err);
        CHECK(ran.code == 0);
        CHECK(ran.err.empty());
        const auto j = nlohmann::json::parse(ran.out);
        CHECK(j["agrees"] == true);
        CHECK(j["dxf"] == dxf(s));
        CHECK(j["contents"]["version"] == version);
        CHECK(j["contents"]["unit"] == "millimetre");
        CHECK(j["contents"]["contours"][0]["closed"] == true);
        // The places behind the marks are known: 100 by 60.
        CHECK(j["contents"]["contours"][0]["area"].get<double>() == Approx(6000).epsilon(0.005));
        const Ran again = runProgram(TRAMMEL_PROGRAM, {"inspect", dxf(s), "--json"});
        CHECK(again.code == 0);
        auto inspected = nlohmann::json::parse(again.out);
        CHECK(inspected["check"]["sha256"].get<std::string>().size() == 64);
        CHECK(inspected["check"]["sha256"] == j["check"]["sha256"]);
        CHECK(inspected["check"]["size"][0].get<double>() == Approx(100).epsilon(0.005));
        inspected.erase("check");
        CHECK(inspected == j["contents"]);
        for (const char* name : {"svg", "check-sheet", "template"})
            CHECK(std::filesystem::exists(j[name].get<std::string>()));
    }
    const std::string table = bytesOf(s.folder() / "out" / "dimensions.csv");
    CHECK(table.find("id,name,quantity,objects,value,plus_minus_k2,unit") == 0);
    CHECK(table.find("diagonal") != std::string::npos);
}

TEST_CASE("the bottom face and the text form") {
    const Outlined s;
    const Ran ran = handover(s, {"--face", "bottom", "--revision", "C"});
    INFO(ran.out << ran.err);
    CHECK(ran.code == 0);
    CHECK(ran.out.find("Read back, equal to the drawing to 1e-6 mm") != std::string::npos);
    CHECK(ran.out.find("CUT_OUTLINE_") != std::string::npos);
    const std::string file = bytesOf(dxf(s, "bottom"));
    CHECK(file.find("mirrored in x against the top view") != std::string::npos);
    CHECK(file.find("revision C") != std::string::npos);
    CHECK(file.find("Invented demo data.") != std::string::npos);
}

TEST_CASE("inspect tells a file of an older revision or of another survey, and takes the survey's own") {
    Outlined s;
    REQUIRE(handover(s, {"--revision", "B", "--kerf", "0.2", "--face", "bottom"}).code == 0);
    const std::string file = dxf(s, "bottom");
    CHECK(bytesOf(file).find("compensated in this file for a kerf of 0.2 mm") != std::string::npos);
    const Ran same = runProgram(TRAMMEL_PROGRAM, {"inspect", file, "--survey", s.file().string()});
    INFO(same.out << same.err);
    CHECK(same.code == 0);
    CHECK(same.out.find("the file holds what the survey says") != std::string::npos);
    const Ran old =
        runProgram(TRAMMEL_PROGRAM, {"inspect", file, "--survey", s.file().string(), "--revision", "C"});
    CHECK(old.code == 1);
    CHECK(old.out.find("it is revision B, and revision C is meant") != std::string::npos);
    CHECK(runProgram(TRAMMEL_PROGRAM, {"inspect", file, "--revision", "C"}).code == 1);
    CHECK(runProgram(TRAMMEL_PROGRAM, {"inspect", file, "--revision", "B"}).code == 0);
    for (auto& r : s.values().readings) r.measured.value *= 1.01;
    s.write();
    const Ran other = runProgram(TRAMMEL_PROGRAM, {"inspect", file, "--survey", s.file().string()});
    CHECK(other.code == 1);
    CHECK(other.out.find("DIFFERS") != std::string::npos);
    CHECK(handover(s, {"--kerf", "0"}).code == 2);
    CHECK(handover(s, {"--kerf", "30"}).code == 2);
}

TEST_CASE("a survey that disagrees is written with a warning and exits 1") {
    Outlined s;
    REQUIRE(!s.values().readings.empty());
    s.values().readings[0].measured.value += 3.0;
    s.write();
    const Ran ran = handover(s);
    INFO(ran.out << ran.err);
    CHECK(ran.code == 1);
    CHECK(ran.oneSentence());
    CHECK(ran.err.find("do not cut from these files") != std::string::npos);
    CHECK(bytesOf(dxf(s)).find("DO NOT CUT") != std::string::npos);
    // Whoever only looks at what the file holds is told as well.
    CHECK(runProgram(TRAMMEL_PROGRAM, {"inspect", dxf(s)}).out.find("DO NOT CUT") != std::string::npos);
}

TEST_CASE("what cannot be handed over is one sentence, exit 2, and leaves no file") {
    Outlined crossed;
    crossed.values().outlines[0].chain = {"F1", "F6", "F5", "F2"};
    crossed.write();
    Outlined nothing;
    nothing.values().outlines.clear();
    nothing.write();
    for (const auto& [survey, part] :
         {std::pair<const Outlined*, const char*>{&crossed, "crosses or touches itself"},
          {&nothing, "holds no outline and no hole to draw"}}) {
        const Ran ran = handover(*survey);
        INFO(ran.err);
        CHECK(ran.code == 2);
        CHECK(ran.out.empty());
        CHECK(ran.oneSentence());
        CHECK(ran.err.find(part) != std::string::npos);
        CHECK_FALSE(std::filesystem::exists(survey->folder() / "out"));
    }
    const Outlined good;
    putBytes(good.folder() / "out", "a file stands where the folder should be");
    const Ran blocked = handover(good);
    CHECK(blocked.code == 2);
    CHECK(blocked.oneSentence());
    CHECK(handover(good, {"--face", "left"}).code == 2);
}

TEST_CASE("a disk that fills leaves the older DXF whole") {
    const Outlined s;
    REQUIRE(handover(s).code == 0);
    const std::string before = bytesOf(dxf(s));
    const Ran ran =
        runProgram(TRAMMEL_PROGRAM,
                   {"handover", s.file().string(), "--revision", "B", "--out", (s.folder() / "out").string()},
                   "trap '' XFSZ; ulimit -f 4; ");
    INFO(ran.err);
    CHECK(ran.code == 2);
    CHECK(ran.oneSentence());
    CHECK(bytesOf(dxf(s)) == before);
}

TEST_CASE("inspect refuses what is no DXF with one sentence") {
    const TemporaryFolder folder;
    putBytes(folder / "note.dxf", "dear reader,\nthis is a letter\n");
    for (const auto& file : {folder / "note.dxf", folder / "none.dxf", folder.path()}) {
        const Ran ran = runProgram(TRAMMEL_PROGRAM, {"inspect", file.string()});
        INFO(ran.err);
        CHECK(ran.code == 2);
        CHECK(ran.out.empty());
        CHECK(ran.oneSentence());
    }
    const Outlined s;
    REQUIRE(handover(s).code == 0);
    CHECK(runProgram(TRAMMEL_PROGRAM, {"inspect", dxf(s)}, "", "> /dev/full").code == 2);
}
