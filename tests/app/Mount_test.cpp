// SPDX-License-Identifier: GPL-3.0-or-later
// mount as a user runs it: what is said, the files, exit codes, bad input.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "OutlinedSurvey.h"
#include "RunProgram.h"

using namespace trammel;
using namespace trammel::test;

TEST_CASE("a mount schedule is told, and written as page and table") {
    const TemporaryFolder folder;
    const std::string sample = std::string(TRAMMEL_SAMPLES) + "/stepped-board/stepped-board.trammel";
    const Ran ran =
        runProgram(TRAMMEL_PROGRAM, {"mount", sample, "--marks-only", "--holes", "H1,H2,H3,H4", "--screw",
                                     "M2.5", "--made", "0.1", "--out", (folder / "m.pdf").string(), "--csv",
                                     (folder / "m.csv").string(), "--json"});
    INFO(ran.err);
    REQUIRE(ran.code == 0);
    const auto j = nlohmann::json::parse(ran.out);
    CHECK(j["holes"].size() == 4);
    CHECK(j["under"]["to"] == "coil");
    CHECK(j["fits_shifted"].get<double>() >= j["fits_as_placed"].get<double>());
    CHECK(bytesOf(folder / "m.pdf").rfind("%PDF-", 0) == 0);
    CHECK(bytesOf(folder / "m.csv").rfind("hole,name,x,", 0) == 0);
}

TEST_CASE("what cannot be mounted is one sentence, exit 2, and leaves no file") {
    const OutlinedSurvey s;
    const std::string sample = std::string(TRAMMEL_SAMPLES) + "/stepped-board/stepped-board.trammel";
    using Options = std::vector<std::string>;
    for (const auto& [file, options, part] :
         {std::tuple<std::string, Options, const char*>{s.file().string(), {}, "no hole that is cut"},
          {sample, {"--screw", "M99", "--marks-only"}, "no screw of the table"},
          {sample, {"--holes", "none", "--marks-only"}, "none of the holes"},
          {sample, {"--made", "-1", "--marks-only"}, "--made"},
          {sample, {"--out", "page.dxf", "--marks-only"}, "ends neither in .pdf"}}) {
        Options all{"mount", file};
        all.insert(all.end(), options.begin(), options.end());
        const Ran ran = runProgram(TRAMMEL_PROGRAM, all);
        INFO(ran.out << ran.err);
        CHECK(ran.code == 2);
        CHECK(ran.out.empty());
        CHECK(ran.oneSentence());
        CHECK(ran.err.find(part) != std::string::npos);
    }
}
