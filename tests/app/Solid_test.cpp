// SPDX-License-Identifier: GPL-3.0-or-later
// solid as a user runs it, in builds that have it: the files, exit codes, bad input.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "OutlinedSurvey.h"
#include "RunProgram.h"

using namespace trammel;
using namespace trammel::test;

TEST_CASE("the stepped envelope is written as STEP and STL, or refused in one sentence") {
    if (runProgram(TRAMMEL_PROGRAM, {"solid", "--help"}).code != 0) {
        WARN("skipped without OpenCASCADE: solids");
        return;
    }
    const OutlinedSurvey s;
    const auto solid = [&](const std::string& name, std::vector<std::string> more) {
        more.insert(more.begin(), {"solid", s.file().string(), "--out", (s.folder() / name).string()});
        return runProgram(TRAMMEL_PROGRAM, more);
    };
    const Ran step = solid("part.step", {"--thickness", "2", "--json"});
    INFO(step.out << step.err);
    REQUIRE(step.code == 0);
    // The places behind the marks are known: 100 by 60.
    CHECK(nlohmann::json::parse(step.out)["volume"].get<double>() == Approx(12000).epsilon(0.005));
    CHECK(bytesOf(s.folder() / "part.step").rfind("ISO-10303-21;", 0) == 0);
    CHECK(solid("part.stl", {"--thickness", "2"}).code == 0);
    CHECK(bytesOf(s.folder() / "part.stl").size() == 84 + 12 * 50);  // a box has twelve triangles
    for (const auto& [name, options, part] :
         {std::tuple<std::string, std::vector<std::string>, const char*>{"thin.step", {}, "has no thickness"},
          {"part.obj", {"--thickness", "2"}, "ends neither in .step"},
          {"thin.step", {"--thickness", "-2"}, "--thickness"},
          {"none/part.step", {"--thickness", "2"}, "none"}}) {
        const Ran ran = solid(name, options);
        INFO(ran.out << ran.err);
        CHECK(ran.code == 2);
        CHECK(ran.out.empty());
        CHECK(ran.oneSentence());
        CHECK(ran.err.find(part) != std::string::npos);
        CHECK_FALSE(std::filesystem::exists(s.folder() / name));
    }
}
