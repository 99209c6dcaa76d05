// SPDX-License-Identifier: GPL-3.0-or-later
// rules as a user runs it: what is said, exit codes, bad input.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "OutlinedSurvey.h"
#include "RunProgram.h"

using namespace trammel;
using namespace trammel::test;

TEST_CASE("a shop's rules are tried on a survey, and a breach exits 1") {
    const OutlinedSurvey s;
    const std::string rules = std::string(TRAMMEL_SAMPLES) + "/../resources/rules/laser-service.json";
    const Ran good =
        runProgram(TRAMMEL_PROGRAM, {"rules", s.file().string(), "--shop", rules, "--thickness", "2"});
    INFO(good.out << good.err);
    CHECK(good.code == 0);
    CHECK(good.out.find("nothing is against these rules") != std::string::npos);
    putBytes(s.folder() / "small.json",
             "{\"trammel_shop_rules\": 1, \"name\": \"Small (invented)\", \"bed_mm\": [50, 50]}");
    const Ran bad = runProgram(TRAMMEL_PROGRAM, {"rules", s.file().string(), "--shop",
                                                 (s.folder() / "small.json").string(), "--json"});
    CHECK(bad.code == 1);
    CHECK(nlohmann::json::parse(bad.out)["violations"][0]["rule"] == "bed");
    putBytes(s.folder() / "bad.json", "no rules");
    for (const auto& file : {s.folder() / "bad.json", s.folder() / "none.json", s.folder().path()}) {
        const Ran ran = runProgram(TRAMMEL_PROGRAM, {"rules", s.file().string(), "--shop", file.string()});
        INFO(ran.err);
        CHECK(ran.code == 2);
        CHECK(ran.out.empty());
        CHECK(ran.oneSentence());
    }
    CHECK(runProgram(TRAMMEL_PROGRAM, {"rules", s.file().string(), "--shop", rules, "--thickness", "-3"})
              .code == 2);
}
